"""Counts and full dates in words."""

import datetime as dt

from teamroom.common.clock import said_date


def counted(number: int, thing: str, things: str | None = None) -> str:
    """`1 classroom`, `2 classrooms`, `1,200 people` (its own plural given)."""
    return f"{number:,} {thing if number == 1 else things or f'{thing}s'}"


def full_date(date: dt.date) -> str:
    """`Thu 14 Jan 2027`: where the year may not be the one at hand."""
    return f"{said_date(date)} {date.year}"
