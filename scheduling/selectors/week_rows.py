"""The rows of weeks as drawings need them: their blocks by column, what those credit, and the axis they lie on."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from typing import NamedTuple

from django.db.models import Exists, OuterRef

from scheduling.minutes.plan import Bell
from scheduling.models import BlockCredit, Column, Question
from scheduling.selectors.column_drawing import BlockRow, Credits, Rows
from scheduling.selectors.sheet_columns import Place, Source
from scheduling.selectors.year_words import YearWords
from teamroom.common.clock import said_clock

USUAL_DAY = (8 * 60, 15 * 60)
HALF_HOUR = 30


class Axis(NamedTuple):
    """The first and last minute that columns are drawn on, both on a half hour."""

    first: int
    last: int

    @property
    def lead(self) -> int:
        """Minutes until the first whole hour."""
        return -self.first % 60

    @property
    def hours(self) -> list[tuple[int, str]]:
        return [(minute, said_clock(minute)) for minute in range(self.first + self.lead, self.last, 60)]


def rows_of(weeks: Collection[int]) -> dict[int, dict[Place, list[BlockRow]]]:
    """By week its blocks by column place, in one query; a column without blocks is there too."""
    rows: dict[int, dict[Place, list[BlockRow]]] = {week: {} for week in weeks}
    open_ones = Question.objects.filter(week=OuterRef("week"), block_number=OuterRef("blocks__pk"), settled_at=None)
    columns = Column.objects.filter(week__in=weeks).annotate(asked=Exists(open_ones)).order_by("pk", "blocks__start")
    wanted = ("pk", "start", "end", "activity_id", "revision", "why", "together_id")
    fields = ("week_id", "day", "kind_id", *(f"blocks__{name}" for name in wanted), "asked")
    for week, day, kind, *row in columns.values_list(*fields):
        held = rows[week].setdefault((day, kind), [])
        if row[0] is not None:
            held.append(BlockRow(*row))
    return rows


def credits_of(weeks: Collection[int]) -> Credits:
    """What the blocks of some weeks credit, by block, in one query."""
    credits: dict[int, list[tuple[int, int]]] = defaultdict(list)
    found = BlockCredit.objects.filter(block__column__week__in=weeks).order_by("block", "place")
    for block, activity, minutes in found.values_list("block_id", "activity_id", "minutes"):
        credits[block].append((activity, minutes))
    return credits


def axis_of(words: YearWords, bells: Mapping[str, Bell], rows: Rows, sources: Iterable[Source]) -> Axis:
    """The axis on which every bell and block of a week is inside."""
    used = [bells[key] for source in sources if (key := words.kinds[source.kind][0]) in bells]
    blocks = [block for blocks in rows.values() for block in blocks]
    starts = [bell.start for bell in used] + [block.start for block in blocks]
    ends = [bell.dismissal for bell in used] + [block.end for block in blocks]
    return axis_between(starts, ends)


def axis_between(starts: Iterable[int], ends: Iterable[int]) -> Axis:
    """The axis from the first of some starts to the last of some ends; a usual day where there are none."""
    first, last = min(starts, default=USUAL_DAY[0]), max(ends, default=USUAL_DAY[1])
    return Axis(first // HALF_HOUR * HALF_HOUR, -(-last // HALF_HOUR) * HALF_HOUR)
