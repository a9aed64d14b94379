from django.apps import AppConfig


class DatesConfig(AppConfig):
    name = "teamroom.dates"
    label = "dates"
    verbose_name = "School years"
