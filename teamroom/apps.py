"""The roof as an app: it brings the commands and the static files, and no models."""

from django.apps import AppConfig


class TeamroomConfig(AppConfig):
    """Commands and static files that span all apps."""

    name = "teamroom"
    label = "teamroom"
