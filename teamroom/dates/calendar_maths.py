"""School days of a year and their place in its cycle: plain date arithmetic, no Django.

Weeks run Monday to Sunday. Saturdays and Sundays are without pupils unless the year names them.
"""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
SCHOOL_WEEK = WEEKDAYS[:5]
REGULAR = "regular"

CycleKind = Literal["weekdays", "alternating weeks", "rotating days"]
CYCLE_KINDS: tuple[CycleKind, ...] = ("weekdays", "alternating weeks", "rotating days")
DEFAULT_ROTATION = 6
LONGEST_ROTATION = 20


@dataclass(frozen=True, slots=True)
class Cycle:
    """How school days are named: by weekday, by A and B weeks, or by a running number.

    `length` matters to rotating days only; `starts` is a date of the first A week or day 1.
    """

    kind: CycleKind = "weekdays"
    length: int = DEFAULT_ROTATION
    starts: dt.date | None = None

    @property
    def day_names(self) -> tuple[str, ...]:
        """Every name a school day can have in this cycle, in order."""
        if self.kind == "rotating days":
            return tuple(str(number) for number in range(1, self.length + 1))
        if self.kind == "alternating weeks":
            return tuple(f"{week}-{day}" for week in "AB" for day in WEEKDAYS)
        return WEEKDAYS

    @property
    def usual_days(self) -> tuple[str, ...]:
        """The names a week is planned for: without Saturdays and Sundays."""
        return tuple(name for name in self.day_names if not name.endswith(("sat", "sun")))


class SchoolDay(NamedTuple):
    """A day with pupils: its date, its day kind's key and its name in the cycle."""

    date: dt.date
    kind: str
    cycle_day: str


def monday_of(date: dt.date) -> dt.date:
    return date - dt.timedelta(days=date.weekday())


def dates_between(first: dt.date, last: dt.date) -> Iterable[dt.date]:
    """Each date from first to last, both included."""
    return (first + dt.timedelta(days=n) for n in range((last - first).days + 1))


def school_days(
    first_day: dt.date,
    last_day: dt.date,
    *,
    cycle: Cycle,
    closed: Iterable[tuple[dt.date, dt.date]] = (),
    standing_kinds: Mapping[str, str] | None = None,
    named_days: Mapping[dt.date, str] | None = None,
) -> tuple[SchoolDay, ...]:
    """The days with pupils from first_day to last_day, in order.

    `closed` are spans of dates, both ends included; `standing_kinds` maps a weekday to a day
    kind; `named_days` maps a date to its own kind, which wins and opens a Saturday or Sunday.
    """
    standing = standing_kinds or {}
    named = named_days or {}
    shut = {date for start, end in closed for date in dates_between(start, end)}
    days: list[tuple[dt.date, str]] = []
    for date in dates_between(first_day, last_day):
        weekday = date.weekday()
        if date in shut or (weekday > 4 and date not in named):
            continue
        days.append((date, named.get(date) or standing.get(WEEKDAYS[weekday], REGULAR)))
    names = _cycle_days([date for date, _ in days], cycle, cycle.starts or first_day)
    return tuple(SchoolDay(date, kind, name) for (date, kind), name in zip(days, names, strict=True))


def _cycle_days(dates: list[dt.date], cycle: Cycle, starts: dt.date) -> list[str]:
    if cycle.kind == "rotating days":
        # Day 1 falls on the first school day from `starts` on; earlier days count backwards.
        origin = next((n for n, date in enumerate(dates) if date >= starts), len(dates))
        return [str((n - origin) % cycle.length + 1) for n in range(len(dates))]
    names = [WEEKDAYS[date.weekday()] for date in dates]
    if cycle.kind == "weekdays":
        return names
    origin_week = monday_of(starts)
    return [
        f"{'AB'[(monday_of(date) - origin_week).days // 7 % 2]}-{name}" for date, name in zip(dates, names, strict=True)
    ]
