"""Addresses of a week's history: what was changed and why, taking back, doing again, putting back."""

from django.urls import path

from scheduling.views import history, taking_edits_back

urlpatterns = [
    path("weeks/<int:week>/undo/", taking_edits_back.undo, name="week-undo"),
    path("weeks/<int:week>/redo/", taking_edits_back.redo, name="week-redo"),
    path("weeks/<int:week>/history/", history.history, name="week-history"),
    path("weeks/<int:week>/restore/", history.restore, name="week-restore"),
    path("changes/<int:change>/reason/", history.reason, name="change-reason"),
]
