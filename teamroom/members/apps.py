from django.apps import AppConfig


class MembersConfig(AppConfig):
    name = "teamroom.members"
    label = "members"
    verbose_name = "People and places"
