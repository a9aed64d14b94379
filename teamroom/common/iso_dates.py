"""Dates as people, files and addresses write them: year, month and day."""

import datetime as dt


def is_date(written: str) -> bool:
    """Whether a text is a date that the calendar has, as in 2026-09-01."""
    try:
        dt.date.fromisoformat(written)
    except ValueError:
        return False
    return True


class IsoDateConverter:
    """A date in an address; one that the calendar does not have is no address at all."""

    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, value: str) -> dt.date:
        return dt.date.fromisoformat(value)

    def to_url(self, value: dt.date) -> str:
        return value.isoformat()
