from importlib import import_module

from django.apps import AppConfig
from django.contrib.auth.signals import user_logged_in


class MembersConfig(AppConfig):
    name = "teamroom.members"
    label = "members"
    verbose_name = "People and places"

    def ready(self) -> None:
        """Hear when somebody signs in, and when they have shown once more that it is them."""
        hearing = import_module("teamroom.members.session_limits")
        user_logged_in.connect(hearing.begin_session)
        import_module("allauth.account.signals").authentication_step_completed.connect(hearing.renew_session)
