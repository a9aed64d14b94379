"""The week as a sheet: strips of day columns, each with its bell, fixed time, blocks and free time.

Everything a template shows is worked out here, in two queries, however many blocks there are; two more where the
classroom holds team blocks.
"""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from hashlib import blake2b

from scheduling.models import Week
from scheduling.selectors.column_drawing import Drawing, Rows, SheetColumn
from scheduling.selectors.sheet_columns import Source, main_columns, other_columns
from scheduling.selectors.team_blocks import rooms_holding
from scheduling.selectors.week_rows import Axis, axis_of, credits_of, rows_of
from scheduling.selectors.year_words import YearWords, year_words
from teamroom.common.clock import said_date
from teamroom.members.models import Classroom

LONGEST_STRIP = 6


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
        return Axis(self.first, self.last).lead

    @property
    def hours(self) -> list[tuple[int, str]]:
        return Axis(self.first, self.last).hours

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
    rows, credits = rows_of([week.pk])[week.pk], credits_of([week.pk])
    main = main_columns(words, rows)
    other = other_columns(words, rows, main)
    bells = words.inputs.bells.get(week.classroom.grades[0], {})
    axis = axis_of(words, bells, rows, [*main, *other])
    return WeekSheet(
        classroom=week.classroom,
        week=week,
        words=words,
        versions=_versions(week, versions),
        main=tuple(main),
        other=tuple(other),
        draw=Drawing(words, bells, rows, credits, _rooms(week, rows), *axis),
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


def _rooms(week: Week, rows: Rows) -> dict[int, int]:
    """In how many classrooms a change of each team block shows; asked only where there is one."""
    return rooms_holding(week, {block.together for blocks in rows.values() for block in blocks if block.together})


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
