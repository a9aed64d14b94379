"""A team of three classrooms that edits together, and what its people do with team blocks."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction

from scheduling.access import block_for_editing, block_for_sharing, weeks_for_editing
from scheduling.models import Block, Week
from scheduling.selectors.team_blocks import ways_into
from scheduling.services import team_blocks, undoing, weeks
from scheduling.services.block_writing import placing_of
from scheduling.services.week_edits import Edit
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Member
from tests import factories as make

Shape = tuple[str, int, int, str]
"""A block as told in tests: day, start, end, the activity's key."""


@dataclass
class Rooms:
    """Three classrooms of a team that edits together, a week in each, and Ana, who teaches there."""

    year: SchoolYear
    weeks: list[Week]
    ana: Member

    def block(self, room: int, activity: str, **which: Any) -> Block:
        return Block.objects.get(column__week=self.weeks[room], activity__key=activity, **which)

    def times(self, activity: str = "art") -> list[list[tuple[str, int, int]]]:
        """Where an activity stands in each classroom's first week."""
        rows = Block.objects.filter(activity__key=activity).order_by("column__day", "start")
        return [list(rows.filter(column__week=week).values_list("column__day", "start", "end")) for week in self.weeks]

    def together(self) -> list[set[int | None]]:
        """The team blocks that each classroom's first week holds."""
        return [
            set(Block.objects.filter(column__week=week, together__isnull=False).values_list("together", flat=True))
            for week in self.weeks
        ]


def make_rooms(*, edits_together: bool = True, name: str = "Fernhollow Elementary") -> Rooms:
    year = make.make_year(name)
    weeks = [make.make_week(make.make_classroom(year, f"room{n}")) for n in (12, 14, 15)]
    team = weeks[0].classroom.team
    team.edits_together = edits_together
    team.save()
    return Rooms(year, weeks, make.make_teacher(weeks[0].classroom, f"Ana{year.pk}"))


@transaction.atomic
def share(member: Member, block: Block, *with_weeks: Week, **more: Any) -> Edit:
    """Share a block with some classrooms, having seen what it does there."""
    sharing = block_for_sharing(member, block.pk, [week.classroom_id for week in with_weeks])
    ways = ways_into(sharing.block, [(week.classroom, week) for week in sharing.weeks])
    seen: Sequence[str] = more.pop("seen", [way.token for way in ways])
    revision = more.pop("revision", sharing.block.revision)
    return team_blocks.share(sharing, member=member, revision=revision, seen=seen, **more)


@transaction.atomic
def change(member: Member, block: Block, **changed: Any) -> Edit:
    held = block_for_editing(member, block.pk)
    return weeks.change_block(held, member=member, revision=held.revision, placing=placing_of(held, **changed))


@transaction.atomic
def move(member: Member, block: Block, day: str, start: int, end: int, kind: int | None = None) -> Edit:
    held = block_for_editing(member, block.pk)
    kind = kind or held.column.kind_id
    return weeks.move_block(
        held, member=member, revision=held.revision, day=day, kind=kind, start=start, end=end, reason="the aide's hour"
    )


@transaction.atomic
def split(member: Member, block: Block, at: int) -> Edit:
    held = block_for_editing(member, block.pk)
    return weeks.split_block(held, member=member, revision=held.revision, at=at)


@transaction.atomic
def remove(member: Member, block: Block) -> Edit:
    held = block_for_editing(member, block.pk)
    return weeks.remove_block(held, member=member, revision=held.revision)


@transaction.atomic
def step_out(member: Member, block: Block) -> Edit:
    held = block_for_editing(member, block.pk, alone=True)
    return team_blocks.step_out(held, member=member, revision=held.revision)


@transaction.atomic
def take_back(member: Member, week: Week, deed: str = "undo") -> Edit:
    """Undo or redo one's latest edit of a week, in all weeks it was made in."""
    found = undoing.last_to_undo(week, member) if deed == "undo" else undoing.last_to_redo(week, member)
    pks = undoing.weeks_of(week.pk, found.pk, member) if found else []
    held = weeks_for_editing(member, pks or [week.pk])
    own = next(one for one in held if one.pk == week.pk)
    verb = undoing.undo if deed == "undo" else undoing.redo
    return verb(own, member=member, change=found.pk if found else None, held=held)


def disagreeing() -> list[int]:
    """Team blocks whose blocks are not the same wherever they stand, or that one week holds twice."""
    told: dict[int, set[object]] = {}
    wrong: list[int] = []
    seen: set[tuple[int, int]] = set()
    rows = Block.objects.filter(together__isnull=False).select_related("column").prefetch_related("credits")
    for block in rows:
        pk = block.together_id or 0
        credits = tuple((credit.activity_id, credit.minutes) for credit in block.credits.all())
        place = (block.column.day, block.column.kind_id, block.start, block.end)
        told.setdefault(pk, set()).add((*place, block.activity_id, credits, block.why))
        wrong += [pk] if (pk, block.column.week_id) in seen else []
        seen.add((pk, block.column.week_id))
    return wrong + [pk for pk, shapes in told.items() if len(shapes) > 1]
