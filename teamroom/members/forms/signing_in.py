"""The forms of signing in, passphrases and addresses, in our own voice."""

from collections.abc import Mapping
from typing import Any

from allauth.account.adapter import get_adapter
from allauth.account.forms import (
    AddEmailForm,
    ChangePasswordForm,
    LoginForm,
    ReauthenticateForm,
    ResetPasswordForm,
    ResetPasswordKeyForm,
    SetPasswordForm,
)
from django import forms
from django.http import HttpRequest

from teamroom.members.adapters import signs_in_with
from teamroom.members.models import Member
from teamroom.members.passphrase_rules import LongEnough

ADDRESS = ("E-mail address", "Give your e-mail address, as in name@school.example.")
PASSPHRASE = ("Passphrase", "Give your passphrase.")
NEW = {
    "password1": ("New passphrase", "Give a new passphrase."),
    "password2": ("New passphrase, once more", "Type the new passphrase once more."),
}


def reword(form: forms.Form, words: Mapping[str, tuple[str, str]], **helps: str) -> None:
    """Give the fields of a form our labels, our sentence for an empty one, and a help text or none."""
    for name, (label, missing) in words.items():
        field = form.fields[name]
        field.label = label
        field.help_text = helps.get(name, "")
        field.error_messages |= {"required": missing, "invalid": missing}
        field.widget.attrs.pop("placeholder", None)


class SignInForm(LoginForm):
    """E-mail address and passphrase."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        reword(self, {"login": ADDRESS, "password": PASSPHRASE})
        self.fields["login"].widget.attrs |= {"autocomplete": "username", "autofocus": True, "spellcheck": "false"}
        self.fields["remember"].label = "Stay signed in on this computer"
        self.fields["remember"].help_text = "Leave it unticked where others use the computer too."


class LostForm(ResetPasswordForm):
    """The address whose passphrase is lost. Whoever has it gets a letter, known here or not."""

    users: list[Member]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        reword(self, {"email": ADDRESS})
        self.fields["email"].widget.attrs |= {"autocomplete": "username", "autofocus": True, "spellcheck": "false"}

    def clean_email(self) -> str:
        email: str = super().clean_email()
        self.users = [member for member in self.users if signs_in_with(member, email)]
        return email

    def save(self, request: HttpRequest, **kwargs: Any) -> str:
        email: str = self.cleaned_data["email"]
        if self.users:
            super().save(request, **kwargs)
        else:
            get_adapter().send_mail("account/email/unknown_account", email, {})
        return email


class TwiceAlike(forms.Form):
    """Says in our words that the two new passphrases differ, which is the one plain sentence the library adds there."""

    def add_error(self, field: str | None, error: Any) -> None:
        differ = field == "password2" and not isinstance(error, forms.ValidationError)
        super().add_error(field, "The two are not the same. Type the new passphrase once more." if differ else error)


class NewPassphraseForm(TwiceAlike, ResetPasswordKeyForm):
    """A new passphrase in place of a lost one."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        reword(self, NEW, password1=LongEnough().get_help_text())


class FirstPassphraseForm(TwiceAlike, SetPasswordForm):
    """A passphrase for an account that has none."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        reword(self, NEW, password1=LongEnough().get_help_text())


class ChangePassphraseForm(TwiceAlike, ChangePasswordForm):
    """The passphrase of now, and the new one."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        words = {"oldpassword": ("Passphrase of now", "Give the passphrase you sign in with now.")}
        reword(self, words | NEW, password1=LongEnough().get_help_text())


class ChangeAddressForm(AddEmailForm):
    """The address to sign in with once it is confirmed."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        reword(self, {"email": ("New e-mail address", ADDRESS[1])})


class AgainForm(ReauthenticateForm):
    """The passphrase once more, before something that matters."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        reword(self, {"password": PASSPHRASE})
        self.fields["password"].widget.attrs["autofocus"] = True
