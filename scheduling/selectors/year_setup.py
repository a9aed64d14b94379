"""A year's dates with its school days counted, its kinds of day, and what its cycle names the first days."""

import datetime as dt
from collections import Counter
from dataclasses import dataclass

from scheduling.models import Column
from scheduling.selectors.kind_uses import kind_uses
from scheduling.selectors.preview_words import required_said
from scheduling.selectors.year_words import DAY_NAMES, day_said
from teamroom.common.clock import said_date
from teamroom.dates.calendar_maths import SCHOOL_WEEK, WEEKDAYS, Cycle, SchoolDay, dates_between, monday_of, school_days
from teamroom.dates.models import SchoolYear
from teamroom.dates.selectors import cycle_of, school_days_of

PREVIEWED = 3
"""Weeks of a cycle that are shown before it is saved."""


@dataclass(frozen=True)
class DaysCount:
    """School days by month, as (`September 2026`, days), and in all; `said` sets them against what the
    school must hold, and `enough` is None where nobody said how many that is."""

    months: tuple[tuple[str, int], ...]
    days: int
    said: str
    enough: bool | None


@dataclass(frozen=True)
class KindLine:
    """A kind of day and where it is used."""

    pk: int
    name: str
    is_regular: bool
    days: int
    uses: str


@dataclass(frozen=True)
class CycleDate:
    """A weekday of the preview: its date, and its name in the cycle or why it has none."""

    date: str
    weekday: str
    name: str
    is_school: bool


def days_count(year: SchoolYear, first: dt.date, last: dt.date, required: int | None) -> DaysCount:
    """The school days a year would have with these dates, its closures and named dates as they are."""
    days = days_between(year, first, last)
    count = Counter((day.date.year, day.date.month) for day in days)
    months = sorted({(date.year, date.month) for date in (first, last)} | count.keys())
    return DaysCount(
        months=tuple((f"{dt.date(year_, month, 1):%B %Y}", count[year_, month]) for year_, month in months),
        days=len(days),
        said=required_said(len(days), required),
        enough=None if required is None else len(days) >= required,
    )


def days_between(year: SchoolYear, first: dt.date, last: dt.date, cycle: Cycle | None = None) -> tuple[SchoolDay, ...]:
    """The days with pupils as they would be with other dates or another cycle."""
    return school_days(
        first,
        last,
        cycle=cycle or cycle_of(year),
        closed=year.closures.values_list("first_day", "last_day"),
        standing_kinds=dict(year.standing_kinds.values_list("weekday", "kind__key")),
        named_days=dict(year.calendar_days.values_list("date", "kind__key")),
    )


def kind_lines(year: SchoolYear) -> list[KindLine]:
    count = Counter(day.kind for day in school_days_of(year))
    kinds = sorted(year.day_kinds.order_by("pk"), key=lambda kind: not kind.is_regular)
    uses = kind_uses(year)
    return [
        KindLine(kind.pk, kind.name, kind.is_regular, count[kind.key], "; ".join(uses.get(kind.pk, ())))
        for kind in kinds
    ]


def standing_of(year: SchoolYear) -> dict[str, int]:
    """The kind's id of each weekday from Monday to Friday."""
    regular = next(kind.pk for kind in year.day_kinds.all() if kind.is_regular)
    standing = dict(year.standing_kinds.values_list("weekday", "kind"))
    return {day: standing.get(day, regular) for day in SCHOOL_WEEK}


def weekday_choices() -> list[tuple[str, str]]:
    return [(day, DAY_NAMES[day]) for day in SCHOOL_WEEK]


def planned_weeks(year: SchoolYear) -> int:
    """How many weeks of classrooms have a day planned by its name."""
    return Column.objects.filter(week__classroom__year=year).exclude(day="").values("week").distinct().count()


def cycle_strip(year: SchoolYear, cycle: Cycle) -> list[list[CycleDate]]:
    """The first three weeks of the year, Monday to Friday and any weekend day with school."""
    names = {day.date: day.cycle_day for day in days_between(year, year.first_day, year.last_day, cycle)}
    start = monday_of(year.first_day)
    weeks = (start + dt.timedelta(weeks=n) for n in range(PREVIEWED))
    return [
        [
            _cycle_date(date, names, year)
            for date in dates_between(monday, monday + dt.timedelta(days=6))
            if date.weekday() < 5 or date in names
        ]
        for monday in weeks
    ]


def _cycle_date(date: dt.date, names: dict[dt.date, str], year: SchoolYear) -> CycleDate:
    is_school = date in names
    within = year.first_day <= date <= year.last_day
    name = _name(names[date], date) if is_school else "closed" if within else "no school"
    return CycleDate(said_date(date), DAY_NAMES[WEEKDAYS[date.weekday()]], name, is_school)


def _name(name: str, date: dt.date) -> str:
    """`Day 3`, `Week A`; a cycle of weekdays names nothing that the date does not say already."""
    week, _, _ = name.partition("-")
    return day_said(name) if name.isdigit() else f"Week {week}" if week in ("A", "B") else f"{date:%A}"


def cycle_said(cycle: Cycle) -> str:
    return {
        "weekdays": "Days are named by their weekday.",
        "alternating weeks": "Weeks are A and B in turn.",
        "rotating days": f"{cycle.length} days in rotation.",
    }[cycle.kind]
