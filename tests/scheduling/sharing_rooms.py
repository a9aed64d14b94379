"""Classrooms of a year with a science lab that one class can have and two aides, and a week in each room."""

from dataclasses import dataclass
from typing import Any

from django.db import transaction

from scheduling.access import block_for_editing, week_for_editing
from scheduling.models import Block, SharedResource, Week
from scheduling.services import weeks
from scheduling.services.block_writing import placing_of
from scheduling.services.shared_resources import add_resource
from scheduling.services.week_edits import Edit
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Member
from tests import factories as make


@dataclass
class Rooms:
    """Weeks by the number of their room, what is shared, and Ada, who may change everything."""

    year: SchoolYear
    weeks: dict[int, Week]
    lab: SharedResource
    aides: SharedResource
    ada: Member


def make_rooms(*numbers: int, name: str = "Fernhollow Elementary") -> Rooms:
    year = make.make_year(name)
    rooms = {n: make.make_week(make.make_classroom(year, f"room{n}")) for n in numbers or (12, 14)}
    lab = add_resource(year, name="Science lab", capacity=1)
    aides = add_resource(year, name="Classroom aide", capacity=2)
    year = SchoolYear.objects.select_related("school").get(pk=year.pk)
    ada = make.make_coordinator(year.school, f"Ada{year.pk}", "administrator")
    return Rooms(year, rooms, lab, aides, ada)


@transaction.atomic
def put(rooms: Rooms, room: int, block: tuple[str, str, str, str], **uses: int) -> Edit:
    """A block placed in a room's week, needing so much of `lab` and `aides`."""
    week = week_for_editing(rooms.ada, rooms.weeks[room].pk)
    kind = uses.pop("kind", "regular")
    needs = tuple(sorted((getattr(rooms, name).pk, amount) for name, amount in uses.items()))
    placing = make.placing(week.classroom.year, *block, kind=str(kind), uses=needs)
    return weeks.add_block(week, member=rooms.ada, placing=placing)


@transaction.atomic
def change(rooms: Rooms, block: Block, **changed: Any) -> Edit:
    held = block_for_editing(rooms.ada, block.pk)
    return weeks.change_block(held, member=rooms.ada, revision=held.revision, placing=placing_of(held, **changed))


def block_in(rooms: Rooms, room: int, **which: Any) -> Block:
    return Block.objects.get(column__week=rooms.weeks[room], **which)
