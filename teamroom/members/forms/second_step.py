"""The forms of the second step and of passkeys, in our own voice."""

import struct
from typing import Any

from allauth.mfa.base.forms import AuthenticateForm, ReauthenticateForm
from allauth.mfa.totp.forms import ActivateTOTPForm
from allauth.mfa.webauthn.forms import (
    AddWebAuthnForm,
    AuthenticateWebAuthnForm,
    EditWebAuthnForm,
    LoginWebAuthnForm,
    ReauthenticateWebAuthnForm,
)
from django import forms
from fido2.webauthn import AuthenticationResponse, RegistrationResponse

from teamroom.members.forms.signing_in import reword

LONGEST_NAME = 60
NO_KEY = "The browser gave no passkey. Press the button again and follow what the browser asks."
CODE = ("Code", "Type the code your app shows now, or one of your recovery codes.")


def _ask_for_code(form: forms.Form, label: str = CODE[0]) -> None:
    reword(form, {"code": (label, CODE[1])})
    form.fields["code"].widget.attrs |= {"autofocus": True, "spellcheck": "false", "autocapitalize": "none"}


class CodeForm(AuthenticateForm):
    """The second step of signing in."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _ask_for_code(self)


class CodeAgainForm(ReauthenticateForm):
    """A code once more, before something that matters."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _ask_for_code(self)


class AppForm(ActivateTOTPForm):
    """The first code of an app, which proves that it knows the secret."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _ask_for_code(self, "Code the app shows")
        self.fields["code"].widget.attrs["inputmode"] = "numeric"

    @property
    def key(self) -> str:
        """The secret as people type it, in groups of four."""
        return " ".join(self.secret[at : at + 4] for at in range(0, len(self.secret), 4))


class PasskeyField(forms.JSONField):
    """What a browser says of a passkey; anything else is refused before the library reads on."""

    widget = forms.HiddenInput
    what: type[AuthenticationResponse] | type[RegistrationResponse] = AuthenticationResponse

    def __init__(self) -> None:
        super().__init__(error_messages={"required": NO_KEY, "invalid": NO_KEY})

    def clean(self, value: Any) -> Any:
        said = super().clean(value)
        try:
            self.what.from_dict(said)
        except (TypeError, ValueError, KeyError, IndexError, AttributeError, struct.error) as fault:
            raise forms.ValidationError(NO_KEY, code="invalid") from fault
        return said


class NewPasskeyField(PasskeyField):
    """What a browser says of a passkey that it has just made."""

    what = RegistrationResponse


class PasskeyForm(AuthenticateWebAuthnForm):
    """A passkey as second step of signing in."""

    credential = PasskeyField()


class PasskeySignInForm(LoginWebAuthnForm):
    """A passkey alone."""

    credential = PasskeyField()


class PasskeyAgainForm(ReauthenticateWebAuthnForm):
    """A passkey once more, before something that matters."""

    credential = PasskeyField()


class AddPasskeyForm(AddWebAuthnForm):
    """A passkey's name; the browser puts in the key itself."""

    credential = NewPasskeyField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _ask_for_name(self)
        # Every key is one to sign in with, so that no second kind needs explaining.
        self.fields["passwordless"].widget = forms.HiddenInput()
        self.fields["passwordless"].initial = True


class RenamePasskeyForm(EditWebAuthnForm):
    """Another name for a passkey."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _ask_for_name(self)


def _ask_for_name(form: forms.Form) -> None:
    reword(form, {"name": ("Name", "Give it a name, such as the device it is on.")}, name="Such as: my phone.")
    form.fields["name"] = forms.CharField(
        label="Name",
        max_length=LONGEST_NAME,
        required=form.fields["name"].required,
        help_text="Such as: my phone.",
        error_messages={"required": "Give it a name, such as the device it is on."},
    )
