"""Who of a school has what classes share, and when: out of the weeks in effect on a date, as the counting lays
days out. Three queries, however many classrooms there are."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

from scheduling.minutes.layout import Columns, lay_out
from scheduling.minutes.plan import Bell, Block
from scheduling.models import BlockUse, Column, Week
from scheduling.selectors.weeks_in_effect import weeks_in_effect
from scheduling.selectors.year_days import Day, other_days, usual_days
from scheduling.selectors.year_words import ResourceWords, YearWords, year_words
from scheduling.sharing import Clash, Use, clashes
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom

Place = tuple[str | None, str]
"""A column's cycle day (None for the kind's own) and the key of its kind."""


class Needing(NamedTuple):
    """What a block is for, and how much it needs of which resource, by their ids."""

    activity: int
    amounts: Mapping[int, int]


@dataclass(frozen=True)
class Holder:
    """A classroom's week with only those blocks in its columns that need something shared, told by their ids."""

    room: Classroom
    columns: Columns
    bells: Mapping[str, Bell]
    needing: Mapping[int, Needing]


@dataclass(frozen=True)
class SchoolUses:
    """All of it, for some resources or for all."""

    words: YearWords
    holders: Mapping[int, Holder]

    def uses(self, resource: int, day: str, kind: str) -> list[Use]:
        """Every use of a resource on a cycle day that is of a kind (its key), in order of time."""
        found = []
        for room, holder in self.holders.items():
            for piece in lay_out(holder.columns, holder.bells, (), cycle_day=day, kind=kind):
                block = piece.origin.key if isinstance(piece.origin, Block) else None
                if isinstance(block, int) and (amount := holder.needing[block].amounts.get(resource)):
                    found.append(Use(piece.start, piece.end, amount, room, block))
        return sorted(found)

    def days(self, resource: int) -> list[Day]:
        """The usual days, and those of another kind on which the resource is used differently."""
        usual = usual_days(self.words)
        others = [
            (day, kind)
            for day, kind in other_days(self.words)
            if self.uses(resource, day, kind) != self.uses(resource, day, usual[day])
        ]
        return [*usual.items(), *others]

    def clashes(self, resource: ResourceWords, days: Iterable[Day]) -> dict[Day, list[Clash]]:
        """The days on which more of a resource is wanted than there is, with when."""
        found = {place: clashes(self.uses(resource.pk, *place), resource.capacity) for place in days}
        return {place: some for place, some in found.items() if some}


def school_uses(year: SchoolYear, on: dt.date, resources: Collection[int] | None = None) -> SchoolUses:
    """The uses of some of a year's shared resources, or of all, by the weeks in effect on a date."""
    words = year_words(year)
    asked = words.resources.keys() if resources is None else resources
    if not asked:
        return SchoolUses(words, {})
    in_effect = weeks_in_effect(Classroom.objects.filter(year=year, retired=False), on)
    rows = BlockUse.objects.filter(resource__in=asked, block__column__week__in=in_effect.values("pk"))
    fields = ("column__week", "column", "pk", "start", "end", "activity")
    needing: dict[int, dict[int, Needing]] = defaultdict(dict)
    blocks: dict[int, dict[int, Block]] = defaultdict(dict)
    for resource, amount, week, column, block, start, end, activity in rows.values_list(
        "resource", "amount", *(f"block__{field}" for field in fields)
    ):
        amounts = needing[week][block].amounts if block in needing[week] else {}
        needing[week][block] = Needing(activity, {**amounts, resource: amount})
        blocks[column][block] = Block(start, end, words.inputs.activities[activity], key=block)
    columns: dict[int, dict[Place, tuple[Block, ...]]] = defaultdict(dict)
    for pk, week, day, kind in Column.objects.filter(week__in=needing).values_list("pk", "week", "day", "kind"):
        held = tuple(sorted(blocks[pk].values(), key=lambda block: block.start))
        columns[week][day or None, words.inputs.day_kinds[kind]] = held
    weeks = Week.objects.filter(pk__in=needing).select_related("classroom").order_by("classroom__name", "classroom")
    bells = words.inputs.bells
    return SchoolUses(
        words,
        {
            week.classroom_id: Holder(
                week.classroom, columns[week.pk], bells.get(week.classroom.grades[0], {}), needing[week.pk]
            )
            for week in weeks
        },
    )


def with_holder(uses: SchoolUses, holder: Holder) -> SchoolUses:
    """The same with one classroom's week as given."""
    return replace(uses, holders={**uses.holders, holder.room.pk: holder})
