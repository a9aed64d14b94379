"""The first person of an installation, who has nobody to invite them: a link printed on the console."""

from django.db import connection, transaction

from teamroom.common.errors import RuleBroken
from teamroom.members.models import DistrictRole, FirstLink, Member
from teamroom.members.services.one_use import hash_of, new_secret
from teamroom.members.services.passphrases import check_passphrase
from teamroom.members.services.people import add_member

WORTHLESS = (
    "This link lets nobody in any more: it was used, or a newer one was made. Ask whoever runs this server for a fresh "
    "one, or sign in."
)


@transaction.atomic
def make_first_link() -> str | None:
    """A secret that makes one person the first administrator; None once there is any member.

    It makes every secret before it worthless.
    """
    _one_at_a_time()
    if Member.objects.exists():
        return None
    token, kept = new_secret()
    FirstLink.objects.all().delete()
    FirstLink.objects.create(token_hash=kept)
    return token


def open_first(token: str) -> bool:
    """Whether this secret still makes somebody the first administrator."""
    return FirstLink.objects.filter(token_hash=hash_of(token)).exists() and not Member.objects.exists()


@transaction.atomic
def become_first(token: str, *, email: str, name: str, passphrase: str) -> Member:
    """The first member, who may found schools; the secret is worthless afterwards.

    RuleBroken where the secret is worthless or the passphrase too easily guessed.
    """
    _one_at_a_time()
    if not open_first(token):
        raise RuleBroken(WORTHLESS)
    check_passphrase(passphrase, email=email, name=name)
    member = add_member(email=email, name=name, passphrase=passphrase)
    DistrictRole.objects.create(member=member)
    FirstLink.objects.all().delete()
    return member


def _one_at_a_time() -> None:
    # There is no row yet that two who come at once could both want to lock.
    with connection.cursor() as cursor:
        cursor.execute("LOCK TABLE members_firstlink IN SHARE ROW EXCLUSIVE MODE")
