"""Blocks that a bell schedule leaves in fixed time or outside the day: they count as before, and want moving."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from scheduling.minutes.figures import listed
from scheduling.minutes.plan import Bell
from scheduling.models import Block, Week
from scheduling.selectors.year_inputs import year_inputs
from teamroom.common.wording import counted
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom

MOST_NAMED = 4


@dataclass(frozen=True)
class InTheWay:
    """How many blocks of which classrooms. False where there are none."""

    blocks: int
    rooms: Sequence[str]

    def __bool__(self) -> bool:
        return bool(self.blocks)

    @property
    def said(self) -> str:
        """A sentence; empty where there are none."""
        if not self:
            return ""
        more = len(self.rooms) - MOST_NAMED
        named = [*self.rooms[:MOST_NAMED], *([f"{more} more"] if more > 0 else [])]
        one = self.blocks == 1
        return (
            f"{counted(self.blocks, 'block')} of {listed(named)} {'lies' if one else 'lie'} in fixed time or outside "
            f"the bell now: the week shows {'it' if one else 'them'}."
        )


def blocks_in_the_way(year: SchoolYear, grades: Collection[str], kinds: Collection[int]) -> InTheWay:
    """Blocks of the weeks in effect today or later, in columns of these kinds, of classes these grades lead."""
    inputs = year_inputs(year)
    rooms = {
        room.pk: room
        for room in Classroom.objects.filter(year=year, retired=False, grades__0__in=sorted(grades)).order_by("name")
    }
    found: dict[int, int] = {}
    rows = Block.objects.filter(column__week__in=_weeks_from_today(year, rooms), column__kind__in=kinds)
    for room, kind, day, start, end in rows.values_list(
        "column__week__classroom", "column__kind", "column__day", "start", "end"
    ):
        bell = inputs.bells.get(rooms[room].grades[0], {}).get(inputs.day_kinds[kind])
        if bell is not None and _in_the_way(bell, day, start, end):
            found[room] = found.get(room, 0) + 1
    return InTheWay(sum(found.values()), [str(room) for pk, room in rooms.items() if pk in found])


def _weeks_from_today(year: SchoolYear, rooms: Collection[int]) -> list[int]:
    today = year.school.today()
    current: dict[int, int] = {}
    later: list[int] = []
    for pk, room, starts in (
        Week.objects.filter(draft=False, classroom__in=rooms)
        .order_by("starts")
        .values_list("pk", "classroom", "starts")
    ):
        if starts > today and room in current:
            later.append(pk)
        else:
            current[room] = pk
    return [*current.values(), *later]


def _in_the_way(bell: Bell, day: str, start: int, end: int) -> bool:
    if start < bell.start or end > bell.dismissal:
        return True
    here = (fixed for fixed in bell.fixed if fixed.days is None or not day or day in fixed.days)
    return any(fixed.start < end and start < fixed.end for fixed in here)
