"""A school with its people, and invitations into it, as the tests of them need them."""

from dataclasses import dataclass, field
from typing import Any

from django.core.mail.backends.base import BaseEmailBackend

from teamroom.dates.models import School, SchoolYear
from teamroom.members.models import Classroom, Member, Team
from teamroom.members.services.invitations import Made, Offer, invite
from tests import factories as make

PASSPHRASE = "a long enough phrase"
SITE = "http://testserver"


@dataclass
class Place:
    """Grades 4 and 5 with a classroom each; an administrator and grade 4's lead."""

    year: SchoolYear = field(init=False)
    room: Classroom = field(init=False)
    other_room: Classroom = field(init=False)
    administrator: Member = field(init=False)
    lead: Member = field(init=False)

    def __post_init__(self) -> None:
        self.year = make.make_year()
        self.room = make.make_classroom(self.year)
        self.other_room = make.make_classroom(self.year, "room31", ("5",))
        self.administrator = make.make_coordinator(self.year.school, "Ada", "administrator")
        self.lead = make.make_teammate(self.room.team, "Lena", "lead")

    @property
    def school(self) -> School:
        return self.year.school

    @property
    def team(self) -> Team:
        return self.room.team

    def invited(self, email: str = "nora@school.example", by: Member | None = None, **what: Any) -> Made:
        """An invitation as a teacher of grade 4 unless told otherwise."""
        return invited_to(self.team, by or self.administrator, email, **what)


def invited_to(into: Team, by: Member, email: str = "nora@school.example", /, *, days: int = 14, **what: Any) -> Made:
    """An invitation into the school of a team: as its teacher unless told otherwise."""
    offer = Offer(**(what or {"team": into, "team_role": "teacher"}))
    return invite(by=by, school=into.year.school, email=email, offer=offer, days=days, address_of=address)


def address(token: str) -> str:
    return f"{SITE}/invitation/{token}/"


def token_of(made: Made) -> str:
    return made.link.rstrip("/").rsplit("/", 1)[1]


def path_of(made: Made) -> str:
    return made.link.removeprefix(SITE)


class Away(BaseEmailBackend):
    """A post office that takes nothing."""

    def send_messages(self, email_messages: Any) -> int:
        raise OSError("no post today")
