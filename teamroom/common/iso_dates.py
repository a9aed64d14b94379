"""Dates as people and files write them: year, month and day."""

import datetime as dt


def is_date(written: str) -> bool:
    """Whether a text is a date that the calendar has, as in 2026-09-01."""
    try:
        dt.date.fromisoformat(written)
    except ValueError:
        return False
    return True
