"""The first administrator's form."""

from typing import Any

from django import forms

from teamroom.common.forms import EditForm
from teamroom.members.passphrase_rules import LongEnough


class FirstForm(EditForm):
    """Name, address and passphrase of whoever holds the link."""

    name = forms.CharField(
        label="Your name",
        max_length=150,
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
        error_messages={"required": "Give your name: it stands beside what you do."},
    )
    email = forms.EmailField(
        label="E-mail address",
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "username", "spellcheck": "false"}),
        error_messages={
            "required": "Give the address you will sign in with.",
            "invalid": "Write it as name@school.org.",
        },
    )
    passphrase = forms.CharField(
        label="Passphrase",
        strip=False,
        max_length=1000,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        error_messages={"required": "Choose a passphrase."},
        help_text=LongEnough().get_help_text(),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not self.is_bound:
            self.fields["name"].widget.attrs["autofocus"] = True
