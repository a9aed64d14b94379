"""The date that a page of weeks in effect is asked for."""

import datetime as dt
from contextlib import suppress

from teamroom.dates.models import SchoolYear


def as_of(year: SchoolYear, written: str) -> tuple[dt.date, bool]:
    """The date asked for, else today, brought into the year; and whether that moved what was asked for."""
    asked: dt.date | None = None
    with suppress(ValueError):
        asked = dt.date.fromisoformat(written)
    date = asked or year.school.today()
    inside = min(max(date, year.first_day), year.last_day)
    return inside, asked is not None and inside != asked
