from importlib import import_module

from django.apps import AppConfig
from django.contrib.auth.signals import user_logged_in


class MembersConfig(AppConfig):
    name = "teamroom.members"
    label = "members"
    verbose_name = "People and places"

    def ready(self) -> None:
        """Hear when somebody signs in, has shown once more that it is them, or has another passphrase."""
        hearing = import_module("teamroom.members.session_limits")
        user_logged_in.connect(hearing.begin_session)
        of_accounts = import_module("allauth.account.signals")
        of_accounts.authentication_step_completed.connect(hearing.renew_session)
        of_accounts.password_changed.connect(hearing.tell_streams)
        of_accounts.password_reset.connect(hearing.tell_streams)
