"""A school for the access table: everybody who can stand somehow to one classroom, and the ids in its addresses."""

from dataclasses import dataclass, field
from typing import Any

from scheduling.models import Block, Rule
from teamroom.members.models import Classroom, DistrictRole, Member
from tests.factories import (
    add,
    make_classroom,
    make_coordinator,
    make_member,
    make_rule,
    make_teacher,
    make_teammate,
    make_week,
    make_year,
)

PEOPLE = (
    "own",
    "lead",
    "teammate",
    "guest",
    "other team",
    "coordinator",
    "administrator",
    "district",
    "stranger",
    "nobody",
)

# What each of them is answered, in that order.
OPEN = (200,) * 10
MEMBERS = (*(200,) * 9, 302)
# Whoever has any part in the year, or in the classroom's team.
READ_YEAR = (*(200,) * 8, 404, 302)
READ = (200, 200, 200, 200, 404, 200, 200, 200, 404, 302)
# A week's teacher, the team's lead and the administrator; a form without its fields is refused with 422.
EDIT = (200, 200, 403, 403, 404, 403, 200, 403, 404, 302)
SENT = (422, 422, 403, 403, 404, 403, 422, 403, 404, 302)
DONE = (302, 302, 403, 403, 404, 403, 302, 403, 404, 302)
# The administrator alone.
SET_UP = (403, 403, 403, 403, 403, 403, 200, 403, 404, 302)
SET_UP_SENT = (403, 403, 403, 403, 403, 403, 422, 403, 404, 302)
SET_UP_DONE = (403, 403, 403, 403, 403, 403, 302, 403, 404, 302)

Rows = dict[tuple[str, str], tuple[int, ...]]
Addresses = dict[str, tuple[str, ...]]


@dataclass
class World:
    """People by their name in the table, and ids by their name in an address."""

    people: dict[str, Member] = field(default_factory=dict)
    ids: dict[str, Any] = field(default_factory=dict)
    classroom: Classroom = field(init=False)


def make_world() -> World:
    """A classroom with a week, a block and a rule, and all people of the table but `nobody`."""
    world = World()
    year = make_year()
    classroom = world.classroom = make_classroom(year)
    world.people = {
        "own": make_teacher(classroom),
        "lead": make_teammate(classroom.team, "Lena", "lead"),
        "teammate": make_teammate(classroom.team),
        "guest": make_teammate(classroom.team, "Guido", "guest"),
        "other team": make_teacher(make_classroom(year, "room31", ("5",)), "Otto"),
        "coordinator": make_coordinator(year.school),
        "administrator": make_coordinator(year.school, "Ada", "administrator"),
        "district": make_member("Dita"),
        "stranger": make_teacher(make_classroom(make_year("Another school")), "Stella"),
    }
    DistrictRole.objects.create(member=world.people["district"])
    add(make_week(classroom), world.people["own"], ("mon", "08:00", "09:00", "math"))
    rule = make_rule(year, "math_week", {"pool": {"of": ["math"]}, "at_least": 60})
    block = Block.objects.get()
    world.ids = {
        "school": year.school_id,
        "year": year.pk,
        "team": classroom.team_id,
        "classroom": classroom.pk,
        "week": block.column.week_id,
        "block": block.pk,
        "rule": Rule.objects.get(pk=rule.pk).pk,
        "part": 0,
    }
    return world
