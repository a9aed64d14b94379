"""Brings somebody in from the console: the first person of a school has nobody to invite them."""

from argparse import ArgumentParser
from typing import Any

from django.core.management import CommandError
from django.db import transaction

from teamroom.common.commands import SchoolCommand
from teamroom.common.errors import RuleBroken
from teamroom.common.near import did_you_mean, quoted
from teamroom.dates.choosing import NoSuchYear, year_meant
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, Member, Team
from teamroom.members.roles import SCHOOL_ROLES, TEAM_ROLES
from teamroom.members.services.accounts import way_in
from teamroom.members.services.people import add_member, give_classroom, give_school_role, give_team_role


class Command(SchoolCommand):
    """python manage.py add_member ADDRESS --name NAME --role ROLE [--team KEY] [--classroom KEY ...]"""

    help = "Adds somebody, and prints the link by which they choose a passphrase."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("address", help="the e-mail address they sign in with")
        parser.add_argument("--name", required=True, help="as colleagues see it")
        parser.add_argument("--role", required=True, choices=[*SCHOOL_ROLES, *TEAM_ROLES])
        parser.add_argument("--team", metavar="KEY", help="the team, where the role is one in a team")
        parser.add_argument("--classroom", metavar="KEY", nargs="+", default=[], help="classrooms of their own")
        parser.add_argument("--site", default="http://localhost:8000", help="where this installation is reached")
        parser.add_argument("--school", help="the school's name; the one last loaded unless told")
        parser.add_argument("--year", help="the year's name; the one last loaded unless told")

    def handle(self, *args: Any, **options: Any) -> None:
        """Add them and say how they sign in; CommandError with a sentence where that cannot be."""
        try:
            choice = year_meant(options["school"], options["year"])
            with transaction.atomic():
                member = add_member(email=options["address"], name=options["name"], passphrase=None)
                self.give(member, choice.year, options)
        except (NoSuchYear, RuleBroken) as refused:
            raise CommandError(str(refused)) from refused
        if choice.remark:
            self.stderr.write(choice.remark)
        self.stdout.write(f"{member.name} signs in as {member.email}, and chooses a passphrase by this link:")
        self.stdout.write(f"{options['site'].rstrip('/')}{way_in(member)}")
        self.stdout.write("It is good for a day and for one use; the sign-in page sends another by letter.")

    def give(self, member: Member, year: SchoolYear, options: dict[str, Any]) -> None:
        role, key = options["role"], options["team"]
        if role in SCHOOL_ROLES:
            if key:
                raise CommandError(f"A {role} is one of the whole school: leave --team out.")
            give_school_role(member, year.school, role)
        else:
            if not key:
                raise CommandError(f"Say of which team with --team: {keys(year.teams)}.")
            give_team_role(member, found(year.teams, "team", key), role)
        for room in options["classroom"]:
            give_classroom(member, found(year.classrooms, "classroom", room))


def keys(things: Any) -> str:
    return ", ".join(things.order_by("pk").values_list("key", flat=True)) or "the year has none yet"


def found(things: Any, noun: str, key: str) -> Any:
    """The team or classroom of that key; CommandError names the nearest."""
    thing: Team | Classroom | None = things.filter(key=key).first()
    if thing is None:
        known = list(things.values_list("key", flat=True))
        raise CommandError(f"There is no {noun} {quoted(key)}: {did_you_mean(key, known)}")
    return thing
