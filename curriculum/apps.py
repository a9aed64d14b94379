"""App configuration of the curriculum."""

from django.apps import AppConfig


class CurriculumConfig(AppConfig):
    """Unit maps, events, trips and getting ready."""

    name = "curriculum"
    label = "curriculum"
