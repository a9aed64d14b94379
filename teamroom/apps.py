"""The roof as an app: it brings the commands and the static files, and no models."""

from importlib import import_module

from django.apps import AppConfig


class TeamroomConfig(AppConfig):
    """Commands and static files that span all apps."""

    name = "teamroom"
    label = "teamroom"

    def ready(self) -> None:
        """Make the Celery app known to every process, as pages nudge the background work too."""
        import_module("teamroom.celery")
