"""Stretches of dates with a name, and what of them is news to a calendar."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

DAY = dt.timedelta(days=1)
LONGEST_NAME = 120


class Span(NamedTuple):
    """Dates from a first to a last, both included, and what they are called."""

    first: dt.date
    last: dt.date
    name: str

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1

    def meets(self, first: dt.date, last: dt.date) -> bool:
        return self.first <= last and first <= self.last


State = Literal["new", "outside", "closed", "no school day", "named"]
"""What a span is to a calendar: it closes school days; it lies outside the year; all of it is
closed already; it holds weekends alone; or a date in it has a day kind of its own."""


@dataclass(frozen=True)
class Seen:
    """A year's calendar as it stands. `school_days` are its dates with pupils; `named` the dates
    that have a day kind of their own, with the kind's name."""

    first: dt.date
    last: dt.date
    closed: Sequence[Span]
    school_days: frozenset[dt.date]
    named: Mapping[dt.date, str]


@dataclass(frozen=True)
class Look:
    """A span against a calendar: what of it lies in the year (None if nothing), the school days it
    would close, and in words what stands in its way or beside it ('' for nothing)."""

    span: Span
    inside: Span | None
    state: State
    days_lost: int
    said: str

    @property
    def is_offered(self) -> bool:
        return self.state == "new"


def look_at(span: Span, seen: Seen) -> Look:
    """What closing a span would do to a calendar."""
    if not span.meets(seen.first, seen.last):
        return Look(span, None, "outside", 0, "outside the year")
    inside = Span(max(span.first, seen.first), min(span.last, seen.last), span.name)
    lost = sum(date in seen.school_days for date in dates_of(inside))
    beside = tuple(dict.fromkeys(closed.name for closed in seen.closed if closed.meets(inside.first, inside.last)))
    if named := [date for date in dates_of(inside) if date in seen.named]:
        kind = seen.named[named[0]]
        return Look(
            span, inside, "named", lost, f"{named[0]:%d %b} is named as a {kind}: take that off the calendar first"
        )
    if not lost:
        return Look(span, inside, *_without_days(beside))
    notes = [f"partly closed already as {_listed(beside)}"] if beside else []
    if inside[:2] != span[:2]:
        notes.append("partly outside the year")
    return Look(span, inside, "new", lost, "; ".join(notes))


def _without_days(beside: Sequence[str]) -> tuple[State, int, str]:
    if beside:
        return "closed", 0, f"closed already as {_listed(beside)}"
    return "no school day", 0, "on a weekend: no school day is lost"


def fresh(wanted: Iterable[Span], closed: Iterable[Span], first: dt.date, last: dt.date) -> list[Span]:
    """The pieces of the wanted spans that lie in the year and are not closed yet, in order of date.

    Where wanted spans overlap the longer one keeps the dates, so that a holiday inside a break does
    not cut the break in two.
    """
    taken = [Span(span.first, span.last, "") for span in closed]
    pieces: list[Span] = []
    for span in sorted(wanted, key=lambda span: (-span.days, span.first, span.name)):
        for piece in _left_of(Span(max(span.first, first), min(span.last, last), span.name), taken):
            pieces.append(piece)
            taken.append(piece)
    return sorted(pieces)


def _left_of(span: Span, taken: Sequence[Span]) -> Iterator[Span]:
    """What of a span no taken one covers."""
    start = span.first
    for other in sorted(other for other in taken if other.meets(span.first, span.last)):
        if start < other.first:
            yield Span(start, other.first - DAY, span.name)
        start = max(start, other.last + DAY)
    if start <= span.last:
        yield Span(start, span.last, span.name)


def dates_of(span: Span) -> Iterator[dt.date]:
    return (span.first + DAY * n for n in range(span.days))


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
