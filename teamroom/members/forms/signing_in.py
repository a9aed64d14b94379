"""The sign-in form, in our own voice."""

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm


class SignInForm(AuthenticationForm):
    """E-mail address and passphrase."""

    error_messages = {
        "invalid_login": "That address and passphrase do not belong together. Check both and try again; capital "
        "letters count in the passphrase.",
        "inactive": "This account is closed. Ask your school's administrator to open it again.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "E-mail address"
        self.fields["username"].widget = forms.EmailInput(
            attrs={"autocomplete": "username", "autofocus": True, "spellcheck": "false"}
        )
        self.fields["username"].error_messages["required"] = "Give your e-mail address."
        self.fields["password"].label = "Passphrase"
        self.fields["password"].error_messages["required"] = "Give your passphrase."
