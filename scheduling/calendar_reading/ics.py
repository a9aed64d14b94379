"""Entries of an iCalendar file (RFC 5545) as dates of a school year.

Times are told by the school's clock, since what counts is the date they fall on there. DTEND is
exclusive. What is cancelled is left out. A file from anywhere may ask for more work than there is
time: `apart.read_apart` is the door for those, and this module's limits only make refusals kinder.
"""

import datetime as dt
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from icalendar import Calendar, Component
from recurring_ical_events import CalendarQuery

from scheduling.calendar_reading.spans import DAY, LONGEST_NAME, Span

MOST_EVENTS = 4000
MOST_SPANS = 20_000
MOST_DATES = 800
"""Further dates and exceptions that one entry may list."""
TOO_MANY = (
    f"The file has more than {MOST_EVENTS:,} entries, or they repeat more often than a year has days: "
    "ask for a calendar of holidays and school days alone."
)
DAMAGED = "The file breaks off or is damaged: export it again, and send it as it comes."
OPENED, CLOSED = (
    re.compile(rf"^{word}:\s*(VCALENDAR|VEVENT)\s*$", re.IGNORECASE | re.MULTILINE) for word in ("BEGIN", "END")
)
NAMELESS = "Entry without a name"
FREQUENCIES = ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")
WITHIN_A_DAY = ("BYHOUR", "BYMINUTE", "BYSECOND")

# What the libraries raise for text that is no calendar, besides ValueError; all of it means the same to who sent it.
UNREADABLE = (ValueError, LookupError, TypeError, AttributeError, ArithmeticError, RecursionError, AssertionError)


class NotACalendar(Exception):
    """A file that is no calendar, or too much of one; the message says what to do instead."""


@dataclass(frozen=True)
class Entry:
    """A calendar entry with the dates it falls on in the year. `minutes` is how long it lasts where
    it has a time of day, None where it is about whole days."""

    name: str
    spans: tuple[Span, ...]
    minutes: int | None = None

    @property
    def first(self) -> dt.date:
        return self.spans[0].first


@dataclass(frozen=True)
class ReadCalendar:
    """What a file holds for the year, in order of date: its entries, how many were cancelled or lie
    outside the year, and which could not be read (name and why)."""

    entries: tuple[Entry, ...]
    cancelled: int = 0
    outside: int = 0
    unread: tuple[tuple[str, str], ...] = ()


def read_calendar(data: bytes, *, first_day: dt.date, last_day: dt.date, zone: str) -> ReadCalendar:
    """The entries of a file that fall into a year. Raises NotACalendar, and nothing else."""
    events = list(_events(_text(data)))
    if len(events) > MOST_EVENTS:
        raise NotACalendar(TOO_MANY)
    year = _Year(first_day, last_day, ZoneInfo(zone))
    entries: list[Entry] = []
    unread: list[tuple[str, str]] = []
    cancelled = outside = spans = 0
    for series in _by_uid(events):
        if _is_cancelled(series[0]):
            cancelled += 1
            continue
        try:
            found = list(_entries(series, year))
        except _Unread as why:
            unread.append((_name(series[0]), str(why)))
        except UNREADABLE:
            unread.append((_name(series[0]), "its dates are not written as a calendar writes them"))
        else:
            entries += found
            outside += not found
            spans += sum(len(entry.spans) for entry in found)
            if spans > MOST_SPANS:
                raise NotACalendar(TOO_MANY)
    told = _merged(sorted(entries, key=lambda entry: (entry.first, entry.name)))
    return ReadCalendar(tuple(told), cancelled, outside, tuple(unread))


class _Unread(Exception):
    """An entry that is left out; the message says why."""


@dataclass(frozen=True, slots=True)
class _Year:
    first: dt.date
    last: dt.date
    zone: ZoneInfo


def _text(data: bytes) -> str:
    for start, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if data.startswith(start):
            return data.decode(encoding, errors="replace")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        # Old programs write their country's code page and do not say so.
        return data.decode("cp1252", errors="replace")


def _events(text: str) -> Iterator[Component]:
    opened, closed = (Counter(name.upper() for name in found.findall(text)) for found in (OPENED, CLOSED))
    if not opened["VCALENDAR"]:
        raise NotACalendar("This is no calendar file: choose one whose name ends in .ics, as calendars export it.")
    if opened["VEVENT"] > MOST_EVENTS:
        raise NotACalendar(TOO_MANY)
    # The library reads what there is of a file that breaks off, and nobody would know what is missing.
    if opened != closed:
        raise NotACalendar(DAMAGED)
    try:
        calendars = Calendar.from_ical(text.replace("\x00", ""), multiple=True)
    except UNREADABLE as fault:
        raise NotACalendar(DAMAGED) from fault
    for calendar in calendars:
        if str(calendar.get("METHOD", "")).upper() == "CANCEL":
            raise NotACalendar("The file takes entries back instead of giving any: export the calendar itself.")
        yield from calendar.walk("VEVENT")


def _by_uid(events: Iterable[Component]) -> Iterator[list[Component]]:
    """The events that make one entry: its own, and its single dates that were moved or cancelled."""
    found: defaultdict[str, list[Component]] = defaultdict(list)
    for place, event in enumerate(events):
        found[str(event.get("UID") or f"none {place}")].append(event)
    for series in found.values():
        masters = [event for event in series if _is_master(event)]
        changed = [event for event in series if not _is_master(event)]
        if len(masters) > 1 and not changed:
            # One UID for several entries is against the standard and common all the same.
            yield from ([event] for event in masters)
        else:
            yield [*masters, *changed]


def _is_master(event: Component) -> bool:
    return "RECURRENCE-ID" not in event


def _is_cancelled(event: Component) -> bool:
    return str(event.get("STATUS", "")).upper() == "CANCELLED"


def _entries(series: list[Component], year: _Year) -> Iterator[Entry]:
    """What a series comes to in the year: an entry for each name that its dates have there."""
    for event in series:
        _check(event)
    calendar = Calendar()
    for event in series:
        calendar.add_component(event)
    found: defaultdict[tuple[str, int | None], list[Span]] = defaultdict(list)
    query = CalendarQuery(calendar, keep_recurrence_attributes=True)
    for event in query.between(year.first - DAY, year.last + 2 * DAY):
        if _is_cancelled(event):
            continue
        first, last, minutes = _dates(event, year.zone)
        if first <= year.last and last >= year.first:
            name = _name(event)
            found[name, minutes].append(Span(max(first, year.first), min(last, year.last), name))
    for (name, minutes), spans in found.items():
        yield Entry(name, tuple(_joined(spans)), minutes)


def _joined(spans: Iterable[Span]) -> list[Span]:
    """Spans of one name in order, those that touch made one: what repeats daily is one stretch."""
    told: list[Span] = []
    for span in sorted(spans):
        if told and span.first <= told[-1].last + DAY:
            told[-1] = Span(told[-1].first, max(told[-1].last, span.last), span.name)
        else:
            told.append(span)
    return told


def _check(event: Component) -> None:
    """Raise _Unread for what would be endless, or is about less than days."""
    if "DTSTART" not in event:
        raise _Unread("it has no date")
    rules = _value(event, "RRULE") or []
    for rule in rules if isinstance(rules, list) else [rules]:
        often = str(next(iter(rule.get("FREQ", [])), "")).upper()
        if often not in FREQUENCIES or any(part in rule for part in WITHIN_A_DAY):
            raise _Unread("it repeats within a day, as no school calendar does")
        if any(_number(rule, part) < 1 for part in ("INTERVAL", "COUNT")):
            raise _Unread("it repeats without moving on")
    for listed in ("RDATE", "EXDATE"):
        dates = _value(event, listed) or []
        if sum(len(some.dts) for some in (dates if isinstance(dates, list) else [dates])) > MOST_DATES:
            raise _Unread(f"it lists more than {MOST_DATES} dates")


def _number(rule: Any, part: str) -> int:
    """A part of a recurrence rule; 1 where the rule says nothing of it."""
    return int(next(iter(rule.get(part, [])), 1))


def _dates(event: Component, zone: ZoneInfo) -> tuple[dt.date, dt.date, int | None]:
    """First and last date of an occurrence, both included, and its minutes where it has a time of day."""
    start, end = _value(event, "DTSTART").dt, _value(event, "DTEND").dt
    if not isinstance(start, dt.datetime):
        return start, max(start, end - DAY), None
    start, end = _at_school(start, zone), _at_school(end, zone)
    minutes = int((end - start).total_seconds() // 60)
    last = (end - dt.timedelta(microseconds=1)).date() if end > start else start.date()
    whole = start.time() == end.time() == dt.time() and end > start
    return start.date(), last, None if whole else minutes


def _value(event: Component, name: str) -> Any:
    """A property as the library keeps it: what class it is depends on what the file says."""
    return event.get(name)


def _at_school(moment: dt.datetime, zone: ZoneInfo) -> dt.datetime:
    """A moment by the school's clock; one without a time zone is meant so already."""
    return (moment.astimezone(zone) if moment.tzinfo else moment).replace(tzinfo=None)


def _name(event: Component) -> str:
    told = _value(event, "SUMMARY") or ""
    text = str(told[0] if isinstance(told, list) and told else told)
    plain = "".join(letter if letter.isprintable() else " " for letter in text)
    return " ".join(plain.split())[:LONGEST_NAME].strip() or NAMELESS


def _merged(entries: Iterable[Entry]) -> list[Entry]:
    """Entries with days of one name that follow each other, or have only a weekend between, as one.

    Some calendars write a break as an entry for each of its days.
    """
    kept: list[Entry] = []
    latest: dict[str, int] = {}
    for entry in entries:
        if entry.minutes is not None or len(entry.spans) != 1:
            kept.append(entry)
            continue
        place, span = latest.get(entry.name), entry.spans[0]
        if place is not None and _follows(kept[place].spans[0], span):
            begun = kept[place].spans[0]
            kept[place] = Entry(entry.name, (Span(begun.first, max(begun.last, span.last), entry.name),))
        else:
            latest[entry.name] = len(kept)
            kept.append(entry)
    return kept


def _follows(one: Span, other: Span) -> bool:
    between = one.last + DAY
    while between.weekday() > 4 and between < other.first:
        between += DAY
    return other.first <= between
