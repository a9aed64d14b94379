"""The week as a sheet: strips of day columns, each with its bell, fixed time, blocks and free time.

Everything a template shows is worked out here, in two queries, however many blocks there are; two more where the
classroom holds team blocks.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from hashlib import blake2b

from scheduling.minutes.plan import Bell
from scheduling.models import BlockCredit, Column, Week
from scheduling.selectors.column_drawing import BlockRow, Credits, Drawing, Rows, SheetColumn
from scheduling.selectors.sheet_columns import Source, main_columns, other_columns
from scheduling.selectors.team_blocks import rooms_holding
from scheduling.selectors.year_words import YearWords, year_words
from teamroom.common.clock import said_clock, said_date
from teamroom.members.models import Classroom

LONGEST_STRIP = 6
USUAL_DAY = (8 * 60, 15 * 60)
HALF_HOUR = 30


@dataclass(frozen=True, slots=True)
class Strip:
    """Columns that stand side by side."""

    id: str
    title: str
    columns: tuple[SheetColumn, ...]


@dataclass(frozen=True, slots=True)
class VersionChoice:
    pk: int
    said: str
    current: bool
    draft: bool


@dataclass(frozen=True)
class WeekSheet:
    """A classroom's week. Columns are drawn when asked for, as an edit's answer shows only a few.

    `shape` changes when more than single columns must be drawn anew.
    """

    classroom: Classroom
    week: Week
    words: YearWords
    versions: tuple[VersionChoice, ...]
    main: tuple[Source, ...]
    other: tuple[Source, ...]
    draw: Drawing

    @property
    def first(self) -> int:
        return self.draw.first

    @property
    def last(self) -> int:
        return self.draw.last

    @property
    def lead(self) -> int:
        """Minutes until the first whole hour."""
        return -self.first % 60

    @property
    def hours(self) -> list[tuple[int, str]]:
        return [(minute, said_clock(minute)) for minute in range(self.first + self.lead, self.last, 60)]

    @property
    def shape(self) -> str:
        told = repr((self.first, self.last, [(source.id, source.place) for source in (*self.main, *self.other)]))
        return blake2b(told.encode(), digest_size=6).hexdigest()

    @cached_property
    def strips(self) -> tuple[Strip, ...]:
        main, other = ([self.draw.column(source) for source in some] for some in (self.main, self.other))
        return _strips(self.words, main, other)

    @property
    def columns(self) -> Iterator[SheetColumn]:
        return (column for strip in self.strips for column in strip.columns)

    def columns_at(self, places: Collection[str]) -> list[SheetColumn]:
        """Only the columns that show some places."""
        return [self.draw.column(source) for source in (*self.main, *self.other) if source.place in places]

    def column_at(self, place: str) -> str:
        """The id of the first column that shows a place; empty if none does."""
        return next((source.id for source in (*self.main, *self.other) if source.place == place), "")


def sheet_of(week: Week, *, versions: Iterable[Week] | None = None) -> WeekSheet:
    """The sheet of one version of a classroom's week; `versions` are all its versions if known."""
    words = year_words(week.classroom.year)
    rows, credits = _rows(week), _credits(week)
    main = main_columns(words, rows)
    other = other_columns(words, rows, main)
    bells = words.inputs.bells.get(week.classroom.grades[0], {})
    first, last = _axis(words, bells, rows, [*main, *other])
    return WeekSheet(
        classroom=week.classroom,
        week=week,
        words=words,
        versions=_versions(week, versions),
        main=tuple(main),
        other=tuple(other),
        draw=Drawing(words, bells, rows, credits, _rooms(week, rows), first, last),
    )


def weeks_of(classroom: Classroom) -> list[Week]:
    """A classroom's versions and drafts in order of their dates, in one query; each knows its classroom."""
    weeks = list(Week.objects.filter(classroom=classroom).select_related("drafted_by").order_by("starts", "pk"))
    for week in weeks:
        week.classroom = classroom
    return weeks


def chosen_week(versions: list[Week], asked: str, today: dt.date) -> Week | None:
    """The one asked for by id, else the version in effect today, else the first to come, else a draft."""
    named = [week for week in versions if str(week.pk) == asked]
    counting = [week for week in versions if not week.draft]
    begun = [week for week in counting if week.starts <= today]
    return next(iter([*named, *reversed(begun), *counting, *versions]), None)


def version_said(week: Week) -> str:
    """`from Thu 8 Jan 2026` of a version, `Draft from Thu 8 Jan 2026: Ana’s try` of a draft."""
    since = f"from {said_date(week.starts)} {week.starts.year}"
    if not week.draft:
        return since
    maker = f"by {week.drafted_by.name}" if week.drafted_by else ""
    name = week.draft_name or maker
    return f"Draft {since}: {name}" if name else f"Draft {since}"


def shown_column(sheet: WeekSheet, today: dt.date) -> str:
    """The column a small screen opens on: today's in the cycle, else the first."""
    days = {day.date: day.cycle_day for day in sheet.words.inputs.year.days}
    columns = [column.id for column in sheet.columns]
    return days[today] if days.get(today) in columns else columns[0]


def _versions(week: Week, versions: Iterable[Week] | None) -> tuple[VersionChoice, ...]:
    known = sorted(versions, key=lambda one: one.draft) if versions is not None else [week]
    return tuple(VersionChoice(one.pk, version_said(one), one.pk == week.pk, one.draft) for one in known)


def _rows(week: Week) -> dict[tuple[str, int], list[BlockRow]]:
    """The week's blocks by column place, in one query; a column without blocks is there too."""
    rows: dict[tuple[str, int], list[BlockRow]] = {}
    columns = Column.objects.filter(week=week).order_by("pk", "blocks__start")
    wanted = ("pk", "start", "end", "activity_id", "revision", "why", "together_id")
    for day, kind, *row in columns.values_list("day", "kind_id", *(f"blocks__{name}" for name in wanted)):
        held = rows.setdefault((day, kind), [])
        if row[0] is not None:
            held.append(BlockRow(*row))
    return rows


def _rooms(week: Week, rows: Rows) -> dict[int, int]:
    """In how many classrooms a change of each team block shows; asked only where there is one."""
    return rooms_holding(week, {block.together for blocks in rows.values() for block in blocks if block.together})


def _credits(week: Week) -> Credits:
    credits: dict[int, list[tuple[int, int]]] = defaultdict(list)
    found = BlockCredit.objects.filter(block__column__week=week).order_by("block", "place")
    for block, activity, minutes in found.values_list("block_id", "activity_id", "minutes"):
        credits[block].append((activity, minutes))
    return credits


def _axis(words: YearWords, bells: Mapping[str, Bell], rows: Rows, sources: list[Source]) -> tuple[int, int]:
    """The first and last minute of the sheet, on half hours: every bell and block is inside."""
    used = [bells[key] for source in sources if (key := words.kinds[source.kind][0]) in bells]
    blocks = [block for blocks in rows.values() for block in blocks]
    starts = [bell.start for bell in used] + [block.start for block in blocks]
    ends = [bell.dismissal for bell in used] + [block.end for block in blocks]
    first, last = min(starts, default=USUAL_DAY[0]), max(ends, default=USUAL_DAY[1])
    return first // HALF_HOUR * HALF_HOUR, -(-last // HALF_HOUR) * HALF_HOUR


def _strips(words: YearWords, main: list[SheetColumn], other: list[SheetColumn]) -> tuple[Strip, ...]:
    strips: list[Strip] = []
    if words.cycle.kind == "alternating weeks":
        for week in "AB":
            days = tuple(column for column in main if column.id.startswith(f"{week}-"))
            strips.append(Strip(f"week-{week}", f"Week {week}", days))
    elif len(main) > LONGEST_STRIP:
        for start in range(0, len(main), LONGEST_STRIP):
            days = tuple(main[start : start + LONGEST_STRIP])
            strips.append(Strip(f"days-{start + 1}", f"{days[0].title} to {days[-1].title}", days))
    else:
        strips.append(Strip("days", "Usual days", tuple(main)))
    for start in range(0, len(other), LONGEST_STRIP):
        strips.append(Strip(f"other-{start}", "Other days", tuple(other[start : start + LONGEST_STRIP])))
    return tuple(strips)
