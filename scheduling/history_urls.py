"""Addresses of a week's history: what was changed and why, taking back, doing again, putting back."""

from django.urls import path

from scheduling.views import history

urlpatterns = [
    path("weeks/<int:week>/history/", history.history, name="week-history"),
    path("weeks/<int:week>/restore/", history.restore, name="week-restore"),
    path("changes/<int:change>/reason/", history.reason, name="change-reason"),
]
