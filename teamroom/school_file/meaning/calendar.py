"""The school and its year: the time zone, the dates, closures and kinds of day."""

import datetime as dt
from collections.abc import Iterator
from typing import Any
from zoneinfo import available_timezones

from teamroom.common.near import nearest
from teamroom.school_file.faults import Fault, shown
from teamroom.school_file.form import Document
from teamroom.school_file.meaning.ground import Ground, date_of, each, said_twice

LONGEST_YEAR = 400


def calendar_faults(sound: Document, ground: Ground) -> Iterator[Fault]:
    yield from _time_zone(sound.get("school", {}).get("time_zone"))
    year = sound.get("year", {})
    yield from _year_dates(ground)
    yield from ground.outside_year(("year", "cycle", "starts"), year.get("cycle", {}).get("starts"))
    yield from _closures(year, ground)
    yield from said_twice(("year", "day_kinds"), year.get("day_kinds"), "key", "a day kind")
    for n, standing in each(year.get("standing_kinds")):
        yield from ground.kinds.unknown(("year", "standing_kinds", n, "kind"), standing.get("kind"))
    yield from said_twice(("year", "standing_kinds"), year.get("standing_kinds"), "day", "given a kind")
    yield from _named_days(year, ground)


def _time_zone(name: Any) -> Iterator[Fault]:
    if isinstance(name, str) and name not in available_timezones():
        near = nearest(name, (zone for zone in sorted(available_timezones()) if "/" in zone))
        mend = f"did you mean {shown(near)}?" if near else "write it as in America/Chicago."
        yield Fault(("school", "time_zone"), f"{shown(name)} is no IANA time zone: {mend}")


def _year_dates(ground: Ground) -> Iterator[Fault]:
    first, last = ground.first_day, ground.last_day
    if first is None or last is None:
        return
    if first > last:
        yield Fault(("year", "last_day"), f"The year ends on {last}, before it begins on {first}.")
    elif (last - first).days + 1 > LONGEST_YEAR:
        yield Fault(
            ("year", "last_day"),
            f"From {first} to {last} is longer than {LONGEST_YEAR} days: that is no one school year.",
        )


def _closures(year: Document, ground: Ground) -> Iterator[Fault]:
    spans: list[tuple[dt.date, dt.date, int]] = []
    for n, closure in each(year.get("closed")):
        place = ("year", "closed", n)
        first, last = date_of(closure.get("from")), date_of(closure.get("to"))
        for key in ("from", "to"):
            yield from ground.outside_year((*place, key), closure.get(key))
        if first is None or last is None:
            continue
        if first > last:
            yield Fault((*place, "to"), f"This closure ends on {last}, before it begins on {first}.")
        else:
            spans.append((first, last, n))
    spans.sort()
    latest: tuple[dt.date, int] | None = None
    for first, last, n in spans:
        if latest is not None and first <= latest[0]:
            sentence = (
                f"The school is already closed on {first} by the closure at place {latest[1]}: join or shorten them."
            )
            yield Fault(("year", "closed", n), sentence)
        if latest is None or last > latest[0]:
            latest = last, n


def _named_days(year: Document, ground: Ground) -> Iterator[Fault]:
    closures = [
        (date_of(closure.get("from")), date_of(closure.get("to")), closure.get("name"))
        for _, closure in each(year.get("closed"))
    ]
    for n, day in each(year.get("days")):
        place = ("year", "days", n)
        yield from ground.kinds.unknown((*place, "kind"), day.get("kind"))
        yield from ground.outside_year((*place, "date"), day.get("date"))
        date = date_of(day.get("date"))
        for first, last, name in closures:
            if date and first and last and first <= date <= last:
                by = f" by {shown(name)}" if name else ""
                yield Fault((*place, "date"), f"{date} is closed{by}: take it out of days, or shorten the closure.")
                break
    yield from said_twice(("year", "days"), year.get("days"), "date", "named")
