"""Lets somebody in again who lost the phone and the recovery codes."""

from argparse import ArgumentParser
from typing import Any

from django.core.management import CommandError

from teamroom.common.commands import SchoolCommand
from teamroom.common.near import did_you_mean, quoted
from teamroom.members.models import Member
from teamroom.members.services.accounts import remove_second_steps


class Command(SchoolCommand):
    """python manage.py drop_second_step ADDRESS"""

    help = "Takes the app with codes, the passkeys and the recovery codes off an account, and signs it out everywhere."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("address", help="the e-mail address they sign in with")

    def handle(self, *args: Any, address: str, **options: Any) -> None:
        """Take them off and say so; CommandError where nobody has the address or there is nothing to take off."""
        member = Member.objects.filter(email__iexact=address).first()
        if member is None:
            known = list(Member.objects.values_list("email", flat=True))
            raise CommandError(f"Nobody signs in as {quoted(address)}: {did_you_mean(address, known)}")
        if not remove_second_steps(member):
            raise CommandError(f"{member.name} has no second step: the passphrase alone lets them in.")
        self.stdout.write(f"From now on the passphrase alone lets {member.name} in. They are signed out everywhere.")
        self.stdout.write("This is only for whom you have seen face to face, or know by their voice.")
