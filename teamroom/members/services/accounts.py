"""Accounts: what lets somebody sign in, and what ends it."""

from importlib import import_module

from allauth.account.forms import default_token_generator
from allauth.account.models import EmailAddress
from allauth.account.utils import user_pk_to_url_str
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.conf import settings
from django.contrib.sessions.models import Session
from django.core.exceptions import ValidationError
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from teamroom.common.errors import RuleBroken
from teamroom.common.live.announcing import announce, person_topic
from teamroom.members.models import Member


@transaction.atomic
def open_account(*, email: str, name: str, passphrase: str | None, verified: bool) -> Member:
    """Somebody new who signs in with this address. RuleBroken, at the field, if somebody already does.

    `verified` says that the address is known to be theirs: a letter reached them there, or whoever runs the
    installation vouches for it. Without a passphrase they choose one by the link of `way_in`.
    """
    try:
        member = Member.objects.create_user(email.strip().lower(), passphrase, name=name)
    except ValidationError as refused:
        field = next((name for name in getattr(refused, "error_dict", {}) if name in ("email", "name")), "email")
        raise RuleBroken(" ".join(refused.messages), field=field) from refused
    EmailAddress.objects.create(user=member, email=member.email, primary=True, verified=verified)
    return member


def way_in(member: Member) -> str:
    """The path of a link by which a member chooses a passphrase: once, and within PASSWORD_RESET_TIMEOUT."""
    link = {"uidb36": user_pk_to_url_str(member), "key": default_token_generator.make_token(member)}
    return reverse("account_reset_password_from_key", kwargs=link)


@transaction.atomic
def end_sessions(member: Member) -> int:
    """Sign a member out everywhere at once; how many sessions it ended. The last thing a deed does."""
    sessions = list(UserSession.objects.select_for_update().filter(user=member))
    store = import_module(settings.SESSION_ENGINE).SessionStore()
    for session in sessions:
        store.delete(session.session_key)
    UserSession.objects.filter(pk__in=[session.pk for session in sessions]).delete()
    announce(person_topic(member.pk))
    return len(sessions)


@transaction.atomic
def forget_sessions() -> None:
    """Remove the addresses and browsers of sessions that are over."""
    going_on = Session.objects.filter(expire_date__gt=timezone.now()).values("session_key")
    UserSession.objects.exclude(session_key__in=going_on).delete()


@transaction.atomic
def remove_second_steps(member: Member) -> int:
    """Take away the app, passkeys and recovery codes of somebody who lost them; how many. Their sessions end.

    Only for whoever has made sure, face to face, that it is them.
    """
    count, _ = Authenticator.objects.filter(user=member).delete()
    end_sessions(member)
    return int(count)
