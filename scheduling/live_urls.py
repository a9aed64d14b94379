"""Addresses that open pages ask by themselves."""

from django.urls import path

from scheduling.views import live_weeks

urlpatterns = [
    path("live/classrooms/<int:classroom>/here/", live_weeks.here, name="classroom-here"),
    path("weeks/<int:week>/stale/", live_weeks.stale, name="week-stale"),
]
