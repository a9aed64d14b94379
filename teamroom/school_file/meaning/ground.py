"""What the sections of a file refer to: its activities, shared resources, day kinds, teams, classrooms and dates."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from teamroom.common.clock import minutes_of, written_clock
from teamroom.common.near import did_you_mean, nearest
from teamroom.dates.calendar_maths import CYCLE_KINDS, DEFAULT_ROTATION, REGULAR, Cycle
from teamroom.school_file.faults import Fault, Place, shown
from teamroom.school_file.form import Document, Form, schema

Span = tuple[int, int]
MOST_NEAR = 50


@dataclass
class Names:
    """The keys of one section. When some could not be read, nobody is told that one is unknown."""

    noun: str
    keys: dict[str, int]
    complete: bool
    _said: dict[str, str] = field(default_factory=dict)

    def unknown(self, place: Place, key: Any) -> Iterator[Fault]:
        """A fault if the file has no such key; what is missing or malformed is not a name."""
        if not self.complete or not isinstance(key, str) or key in self.keys:
            return
        if key not in self._said:
            # With so many, what is wrong is not one slip of the pen, and looking for near names takes long.
            near = did_you_mean(key, self.keys) if len(self._said) < MOST_NEAR else "name it first."
            self._said[key] = f"No {self.noun} has the key {shown(key)}: {near}"
        yield Fault(place, self._said[key])


class Ground(NamedTuple):
    """What the whole file stands on. Each date and the cycle is None where it cannot be read."""

    activities: Names
    resources: Names
    kinds: Names
    teams: Names
    classrooms: Names
    first_day: dt.date | None
    last_day: dt.date | None
    cycle: Cycle | None

    def outside_year(self, place: Place, written: Any) -> Iterator[Fault]:
        """A fault if a date lies outside the year."""
        date = date_of(written)
        if date is None or self.first_day is None or self.last_day is None or self.first_day > self.last_day:
            return
        if not self.first_day <= date <= self.last_day:
            yield Fault(place, f"{date} lies outside the year, which goes from {self.first_day} to {self.last_day}.")

    def no_cycle_day(self, place: Place, written: Any) -> Iterator[Fault]:
        """A fault if a day does not fit the year's cycle."""
        if self.cycle is None or not isinstance(written, str) or written in self.cycle.day_names:
            return
        usual = self.cycle.usual_days
        span = f"{usual[0]} to {usual[-1]}"
        yield Fault(place, f"{shown(written)} is no day of this year's cycle, which has {span} ({self.cycle.kind}).")


def ground_of(form: Form) -> Ground:
    """What a document's sections may refer to."""
    sound = form.sound
    year = sound.get("year", {})
    kinds = _names("day kind", ("year", "day_kinds"), year.get("day_kinds"), form)
    kinds.keys.setdefault(REGULAR, -1)
    return Ground(
        activities=_names("activity", ("activities",), sound.get("activities"), form),
        resources=_names("shared resource", ("shared_resources",), sound.get("shared_resources"), form),
        kinds=kinds,
        teams=_names("team", ("teams",), sound.get("teams"), form),
        classrooms=_names("classroom", ("classrooms",), sound.get("classrooms"), form),
        first_day=date_of(year.get("first_day")),
        last_day=date_of(year.get("last_day")),
        cycle=_cycle(year, form),
    )


def _names(noun: str, place: Place, section: Any, form: Form) -> Names:
    keys: dict[str, int] = {}
    complete = place not in form.places and place[:1] not in form.places and not _misspelt(place, form)
    for n, entry in enumerate(section or ()):
        if entry is None or "key" not in entry:
            complete = False
        else:
            keys.setdefault(entry["key"], n)
    return Names(noun, keys, complete)


def _misspelt(place: Place, form: Form) -> bool:
    """Whether an unknown key of the file looks as if it were meant for a section."""
    found: Document = schema() if len(place) == 1 else schema()["$defs"]["year"]
    known = found["properties"]
    above = len(place) - 1
    return any(
        len(other) == len(place)
        and other[:above] == place[:above]
        and isinstance(other[-1], str)
        and other[-1] not in known
        and nearest(other[-1], known) == place[-1]
        for other in form.places
    )


def _cycle(year: Document, form: Form) -> Cycle | None:
    if any(place[:2] == ("year", "cycle") for place in form.places) or ("year",) in form.places:
        return None
    if _misspelt(("year", "cycle"), form):
        return None
    written = year.get("cycle", {})
    kind = written.get("kind", CYCLE_KINDS[0])
    return Cycle(kind, written.get("length", DEFAULT_ROTATION), date_of(written.get("starts")))


def each(section: Any) -> Iterator[tuple[int, Any]]:
    """The sound entries of a list with their places."""
    return ((n, entry) for n, entry in enumerate(section or ()) if entry is not None)


def date_in(written: str) -> dt.date:
    return dt.date.fromisoformat(written)


def date_of(written: Any) -> dt.date | None:
    return dt.date.fromisoformat(written) if written else None


def span_of(written: Document, start: str = "start", end: str = "end") -> Span | None:
    """An entry's times in minutes, if both can be read and run forward."""
    if start not in written or end not in written:
        return None
    span = minutes_of(written[start]), minutes_of(written[end])
    return span if span[0] < span[1] else None


def runs_backward(place: Place, written: Document, start: str = "start", end: str = "end") -> Iterator[Fault]:
    """A fault if an entry ends before or when it starts."""
    if start in written and end in written and span_of(written, start, end) is None:
        yield Fault((*place, end), f"{written[end]} is not after {written[start]}: give an end after the start.")


def said_twice(place: Place, section: Any, key: str, noun: str) -> Iterator[Fault]:
    """A fault for every entry of a list that repeats a key another gave before it."""
    seen: dict[Any, int] = {}
    for n, entry in each(section):
        value = entry.get(key)
        if value is None:
            continue
        first = seen.setdefault(value, n)
        if first != n:
            yield Fault((*place, n, key), f"{shown(value)} is already {noun} at place {first} of this list.")


def credits_faults(place: Place, written: Document, length: int | None, ground: Ground) -> Iterator[Fault]:
    """What is wrong with the credits of a block or day change of a length in minutes."""
    credits = written.get("credits")
    where = (*place, "credits")
    for n, credit in each(credits):
        yield from ground.activities.unknown((*where, n, "activity"), credit.get("activity"))
    yield from said_twice(where, credits, "activity", "credited")
    if length is not None:
        total = sum(credit.get("minutes", 0) for _, credit in each(credits))
        if total > length:
            yield Fault(where, f"These credits come to {total} minutes, but there are only {length}.")


def clock_span(span: Span) -> str:
    return f"{written_clock(span[0])} to {written_clock(span[1])}"
