"""Entries of a calendar as plain data, for a form that carries them and for another process."""

import datetime as dt
from typing import Any

from scheduling.calendar_reading.ics import Entry, ReadCalendar
from scheduling.calendar_reading.spans import Span

Plain = dict[str, Any]


def plain_entry(entry: Entry) -> list[Any]:
    """An entry as JSON has it: name, minutes, and dates as [first, last] pairs."""
    return [entry.name, entry.minutes, [[span.first.isoformat(), span.last.isoformat()] for span in entry.spans]]


def entry_from(plain: Any) -> Entry:
    """The entry that `plain_entry` gave. Raises ValueError for anything else."""
    try:
        name, minutes, spans = plain
        told = tuple(Span(dt.date.fromisoformat(first), dt.date.fromisoformat(last), name) for first, last in spans)
    except TypeError as fault:
        raise ValueError("No entry of a calendar.") from fault
    if not (isinstance(name, str) and name and told and isinstance(minutes, int | None)):
        raise ValueError("No entry of a calendar.")
    return Entry(name, told, minutes)


def plain_calendar(read: ReadCalendar) -> Plain:
    return {
        "entries": [plain_entry(entry) for entry in read.entries],
        "cancelled": read.cancelled,
        "outside": read.outside,
        "unread": [list(one) for one in read.unread],
    }


def calendar_from(plain: Plain) -> ReadCalendar:
    """What `plain_calendar` gave. Raises ValueError or KeyError for anything else."""
    return ReadCalendar(
        tuple(entry_from(one) for one in plain["entries"]),
        int(plain["cancelled"]),
        int(plain["outside"]),
        tuple((str(name), str(why)) for name, why in plain["unread"]),
    )
