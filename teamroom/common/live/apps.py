"""The app of the topics' table."""

from django.apps import AppConfig


class LiveConfig(AppConfig):
    name = "teamroom.common.live"
    label = "live"
