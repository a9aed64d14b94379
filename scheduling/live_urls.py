"""Addresses that open pages ask by themselves."""

from django.urls import path

from scheduling.views import live_weeks

urlpatterns = [
    path("weeks/<int:week>/stale/", live_weeks.stale, name="week-stale"),
]
