"""Short ways to write small school files and to read a counter's answers in tests."""

from collections.abc import Callable
from contextvars import ContextVar
from datetime import date
from fractions import Fraction
from typing import Any

from tests.minutes.adapter import exact_engine_readings
from tests.minutes.naive.calendar_days import WEEKDAY_KEYS, day_of
from tests.minutes.naive.counter import exact_readings

Json = dict[str, Any]
EVERY_DAY = WEEKDAY_KEYS[:5]
MINUTES_TODAY = {"pool": {"except": []}, "at_least": 1, "window": "day"}


COUNTERS: dict[str, Callable[..., list[Json]]] = {"naive counter": exact_readings, "engine": exact_engine_readings}
in_turn = ContextVar("in_turn", default="naive counter")
"""Which counter answers; the tests worked by hand set it, so that they hold both to the same figures."""


def blocks(text: str) -> list[Json]:
    """ "08:00-09:00 math, 09:00-09:30 arts:math=10+science=5" as blocks of a column."""
    found = []
    for line in filter(None, (part.strip() for part in text.split(","))):
        span, label = line.split(" ")
        start, end = span.split("-")
        activity, _, credits = label.partition(":")
        block: Json = {"start": start, "end": end, "activity": activity}
        if credits:
            pairs = [credit.split("=") for credit in credits.split("+")]
            block["credits"] = [{"activity": key, "minutes": int(minutes)} for key, minutes in pairs]
        found.append(block)
    return found


def columns(text: str, days: list[str] | None = None) -> list[Json]:
    """The same plain column on each of the days, Monday to Friday unless said otherwise."""
    return [{"day": day, "blocks": blocks(text)} for day in days or EVERY_DAY]


def bell(kind: str, start: str, dismissal: str, fixed: str = "", grades: list[str] | None = None) -> Json:
    return {
        "grades": grades or ["4"],
        "kind": kind,
        "start": start,
        "dismissal": dismissal,
        "fixed": blocks(fixed),
    }


def year(first: str = "2025-09-01", last: str = "2025-09-05", **more: Any) -> Json:
    """Monday 1 September 2025 to Friday 5 September unless said otherwise."""
    return {"name": "2025", "first_day": first, "last_day": last} | more


def school(week: list[Json], calendar: Json | None = None, **more: Any) -> Json:
    """One classroom of grade 4 with one week from the first day."""
    the_year = calendar or year()
    file: Json = {
        "year": the_year,
        "classrooms": [{"key": "room1", "team": "lower", "grades": ["4"]}],
        "teams": [{"key": "lower", "name": "Lower", "grades": ["4"]}],
        "weeks": [{"classroom": "room1", "from": the_year["first_day"], "columns": week}],
    }
    return file | more


def readings(file: Json, rule: Json, windows: Any = "all", as_of: str = "2025-09-01") -> list[Json]:
    """All exact readings of one rule, which is for grade 4 unless it says otherwise."""
    whole_rule = {"key": "r", "name": "R", "grades": ["4"]} | rule
    return COUNTERS[in_turn.get()](file | {"rules": [whole_rule]}, date.fromisoformat(as_of), windows)


def parts(file: Json, rule: Json, **more: Any) -> list[Json]:
    return [reading for reading in readings(file, rule, **more) if reading["part"] is not None]


def planned(file: Json, rule: Json, classroom: str = "room1") -> list[Fraction]:
    """The planned figure of each window, in order."""
    return [reading["planned"] for reading in parts(file, rule) if reading["classroom"] == classroom]


def required(file: Json, rule: Json) -> list[Fraction]:
    return [reading["required"] for reading in parts(file, rule)]


def spans(file: Json, rule: Json) -> list[tuple[str, str]]:
    """Each window as (from, to), both as MM-DD."""
    windows = [reading["window"] for reading in parts(file, rule)]
    return [(window["from"][5:], window["to"][5:]) for window in windows]


def by_day(file: Json, *activities: str, classroom: str = "room1") -> dict[str, int]:
    """Minutes of the activities (all, if none is named) on each school day, keyed MM-DD."""
    pool: Json = {"of": list(activities)} if activities else {"except": []}
    found = parts(file, {"pool": pool, "at_least": 1, "window": "day"})
    return {
        day_of(reading["window"]["from"]).strftime("%m-%d"): int(reading["planned"])
        for reading in found
        if reading["classroom"] == classroom
    }


def verdict(file: Json, rule: Json) -> str | None:
    """The status of the rule's verdict, or None if there is none."""
    found = [reading["status"] for reading in readings(file, rule) if reading["part"] is None]
    return found[0] if found else None
