"""What a member signs in with."""

from dataclasses import dataclass

from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession

from teamroom.members.models import Member


@dataclass(frozen=True)
class AccountFacts:
    """The ways in of one member, and how many there are of each."""

    has_passphrase: bool
    is_confirmed: bool
    app: bool
    codes_left: int
    passkeys: int
    sessions: int


def account_facts(member: Member) -> AccountFacts:
    kinds = {each.type: each for each in Authenticator.objects.filter(user=member)}
    codes = kinds.get(Authenticator.Type.RECOVERY_CODES)
    return AccountFacts(
        has_passphrase=member.has_usable_password(),
        is_confirmed=EmailAddress.objects.filter(user=member, email=member.email.lower(), verified=True).exists(),
        app=Authenticator.Type.TOTP in kinds,
        codes_left=len(codes.wrap().get_unused_codes()) if codes else 0,
        passkeys=Authenticator.objects.filter(user=member, type=Authenticator.Type.WEBAUTHN).count(),
        sessions=UserSession.objects.filter(user=member).count(),
    )
