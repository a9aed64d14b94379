"""Addresses of drafts: putting one in effect, taking a version out, and two weeks side by side."""

from django.urls import path

from scheduling.views import drafts

urlpatterns = [
    path("weeks/<int:week>/put-in-effect/", drafts.put_in_effect, name="week-put-in-effect"),
    path("weeks/<int:week>/take-out/", drafts.take_out, name="week-take-out"),
    path("weeks/<int:week>/compare/<int:other>/", drafts.compare, name="week-compare"),
]
