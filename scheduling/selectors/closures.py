"""The year's closures as their page lists them, and what others' calendars would add to them."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from scheduling.calendar_reading.day_words import Said, meaning_of
from scheduling.calendar_reading.ics import Entry
from scheduling.calendar_reading.known_holidays import Holiday, holidays_between
from scheduling.calendar_reading.pasted import Pasted
from scheduling.calendar_reading.spans import Look, Seen, Span, dates_of, look_at
from scheduling.selectors.year_words import DAY_NAMES
from teamroom.common.clock import said_date
from teamroom.common.wording import counted, full_date
from teamroom.dates.calendar_maths import REGULAR, WEEKDAYS, dates_between
from teamroom.dates.models import Closure, DayKind, SchoolYear
from teamroom.dates.selectors import school_days_of

MOST_SHOWN = 250
"""Entries of a calendar that one page shows: those that speak of the school day first."""
CLOSE, NOTHING = "close", "nothing"


@dataclass(frozen=True)
class ClosureLine:
    """A closure with its dates in words and the school days it takes."""

    pk: int
    name: str
    when: str
    days: int


@dataclass(frozen=True)
class ClosuresPage:
    """The closures in order, the school days they take and those that are left."""

    lines: tuple[ClosureLine, ...]
    days_lost: int
    school_days: int


@dataclass(frozen=True)
class HolidayLine:
    """A holiday as it is suggested. `ticked` unless somebody says otherwise."""

    value: str
    holiday: Holiday
    when: str
    look: Look
    ticked: bool


@dataclass(frozen=True)
class PastedLine:
    """A pasted line as it was understood."""

    number: int
    text: str
    when: str
    look: Look


@dataclass(frozen=True)
class EntryLine:
    """A calendar entry and what to make of it: `choices` as (value, label), and the one suggested,
    with the words of its name that say so."""

    entry: Entry
    when: str
    choices: tuple[tuple[str, str], ...]
    suggested: str
    because: str
    note: str


def seen_of(year: SchoolYear) -> Seen:
    """A year's calendar as the readers of others' calendars look at it. Five queries."""
    return Seen(
        first=year.first_day,
        last=year.last_day,
        closed=[Span(*row) for row in year.closures.order_by("first_day").values_list("first_day", "last_day", "name")],
        school_days=frozenset(day.date for day in school_days_of(year)),
        named=dict(year.calendar_days.order_by("date").values_list("date", "kind__name")),
    )


def closures_page(year: SchoolYear) -> ClosuresPage:
    lines = tuple(closure_line(closure) for closure in year.closures.order_by("first_day"))
    return ClosuresPage(lines, sum(line.days for line in lines), len(school_days_of(year)))


def closure_line(closure: Closure) -> ClosureLine:
    """A closed date can have no kind of its own, so the days it takes are its weekdays."""
    days = sum(date.weekday() < 5 for date in dates_between(closure.first_day, closure.last_day))
    return ClosureLine(closure.pk, closure.name, span_said(closure.first_day, closure.last_day), days)


def span_said(first: dt.date, last: dt.date) -> str:
    """`Thu 26 Nov 2026`, or `Mon 21 Dec 2026 to Fri 1 Jan 2027`, the year once where it is one."""
    if first == last:
        return full_date(first)
    return f"{said_date(first) if first.year == last.year else full_date(first)} to {full_date(last)}"


def holiday_lines(year: SchoolYear, seen: Seen) -> list[HolidayLine]:
    """The holidays of the year, federal and of the school's state; federal ones that close a day are ticked."""
    lines = []
    for holiday in holidays_between(year.first_day, year.last_day, year.school.place):
        look = look_at(Span(holiday.date, holiday.date, holiday.name), seen)
        ticked = holiday.is_federal and look.is_offered
        lines.append(HolidayLine(holiday.date.isoformat(), holiday, full_date(holiday.date), look, ticked))
    return lines


def pasted_lines(pasted: Pasted, seen: Seen) -> list[PastedLine]:
    return [
        PastedLine(line.number, line.text, span_said(line.span.first, line.span.last), look_at(line.span, seen))
        for line in pasted.lines
        if line.span is not None
    ]


def foremost(entries: Sequence[Entry]) -> list[Entry]:
    """The entries that one page shows, in order of date: those that speak of the school day first."""
    if len(entries) <= MOST_SHOWN:
        return list(entries)
    ranked = sorted(entries, key=lambda entry: _meaning(entry).meaning == NOTHING)
    return sorted(ranked[:MOST_SHOWN], key=lambda entry: (entry.first, entry.name))


def entry_lines(entries: Iterable[Entry], seen: Seen, kinds: Sequence[DayKind]) -> list[EntryLine]:
    """What each entry of a calendar could do here, and what its name suggests."""
    special = [kind for kind in kinds if kind.key != REGULAR]
    return [_entry_line(entry, seen, special) for entry in entries]


def _entry_line(entry: Entry, seen: Seen, kinds: Sequence[DayKind]) -> EntryLine:
    looks = [look_at(span, seen) for span in entry.spans]
    lost = sum(look.days_lost for look in looks)
    dates = [date for date in dates_in(entry) if date in seen.school_days]
    said = _meaning(entry)
    choices = [(NOTHING, "Nothing")]
    if any(look.is_offered for look in looks):
        choices.append((CLOSE, f"Close {counted(lost, 'school day')}"))
    if dates:
        choices += [(str(kind.pk), f"{counted(len(dates), 'day')}: {kind.name}") for kind in kinds]
    suggested, note = NOTHING, _beside(looks)
    if said.meaning == "closes" and len(choices) > 1 and choices[1][0] == CLOSE:
        suggested = CLOSE
    if said.meaning == "shorter" and dates:
        kind = _kind_for(entry.name, kinds)
        suggested = str(kind.pk) if kind else NOTHING
        if kind is None:
            note = "your year has no shorter kind of day yet: add one under Day kinds"
    because = said.because if suggested != NOTHING else ""
    return EntryLine(entry, entry_said(entry), tuple(choices), suggested, because, note)


def _beside(looks: Sequence[Look]) -> str:
    """What stands beside an entry, or in its way."""
    if len(looks) == 1:
        return looks[0].said
    if named := next((look.said for look in looks if look.state == "named"), ""):
        return named
    without = sum(look.days_lost == 0 for look in looks)
    return f"{without} of its {len(looks)} dates {'has' if without == 1 else 'have'} no school" if without else ""


def _meaning(entry: Entry) -> Said:
    return meaning_of(entry.name, minutes=entry.minutes)


def _kind_for(name: str, kinds: Sequence[DayKind]) -> DayKind | None:
    """The kind of day an entry's name speaks of: the one whose words it shares, or else the only one there is."""
    words = set(name.lower().replace("-", " ").split()) - {"day", "days", "school"}
    shared = [kind for kind in kinds if words & set(kind.name.lower().replace("-", " ").split())]
    return next(iter(shared or (kinds if len(kinds) == 1 else [])), None)


def dates_in(entry: Entry) -> list[dt.date]:
    """Each date an entry falls on, in order."""
    return sorted({date for span in entry.spans for date in dates_of(span)})


def entry_said(entry: Entry) -> str:
    """When an entry is: its span, or how many dates it falls on and on which weekday."""
    first, last = entry.spans[0].first, entry.spans[-1].last
    if len(entry.spans) == 1:
        return span_said(first, last)
    weekdays = Counter(date.weekday() for date in dates_in(entry))
    every = f"{DAY_NAMES[WEEKDAYS[next(iter(weekdays))]]}s" if len(weekdays) == 1 else "dates"
    return f"{sum(weekdays.values())} {every}, {span_said(first, last)}"
