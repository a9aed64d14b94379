"""Reads of the school year: its cycle and its school days."""

from teamroom.dates.calendar_maths import CYCLE_KINDS, Cycle, SchoolDay, school_days
from teamroom.dates.models import SchoolYear


def cycle_of(year: SchoolYear) -> Cycle:
    kind = next(kind for kind in CYCLE_KINDS if kind == year.cycle_kind)
    return Cycle(kind, year.cycle_length, year.cycle_starts)


def school_days_of(year: SchoolYear) -> tuple[SchoolDay, ...]:
    """The year's days with pupils, before any classroom's own day changes."""
    return school_days(
        year.first_day,
        year.last_day,
        cycle=cycle_of(year),
        closed=year.closures.values_list("first_day", "last_day"),
        standing_kinds=dict(year.standing_kinds.values_list("weekday", "kind__key")),
        named_days=dict(year.calendar_days.values_list("date", "kind__key")),
    )
