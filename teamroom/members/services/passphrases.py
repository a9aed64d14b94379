"""What a passphrase must be, as the settings say."""

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from teamroom.common.errors import RuleBroken
from teamroom.members.models import Member


def check_passphrase(passphrase: str, *, email: str, name: str, field: str = "passphrase") -> None:
    """Raise RuleBroken, at the form's field, for a passphrase that is too easily guessed."""
    try:
        validate_password(passphrase, Member(email=email, name=name))
    except ValidationError as refused:
        raise RuleBroken(" ".join(refused.messages), field=field) from refused
