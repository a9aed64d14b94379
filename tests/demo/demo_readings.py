"""What the demo school's classrooms reach, and the same had something been otherwise."""

import datetime as dt
from collections.abc import Iterable
from copy import deepcopy
from functools import cache
from typing import Any

from teamroom.demo.load import demo_document
from tests.minutes.adapter import engine_readings

Json = dict[str, Any]
# No rule of the school looks at the date asked for; it only decides what is told as "so far".
AS_OF = dt.date(2027, 1, 15)
MISSED = ("short", "over", "below advice")


@cache
def as_written() -> Json:
    """The demo school, once for all tests; who changes it takes a copy."""
    return demo_document()


def otherwise() -> Json:
    return deepcopy(as_written())


@cache
def worst_windows() -> list[Json]:
    """The readings of the demo school as written."""
    return engine_readings(as_written(), AS_OF)


def missed_rules() -> dict[tuple[str, str], dict[str, str]]:
    """For each classroom and grade of the demo school, the rules it does not meet and how."""
    school = as_written()
    found: dict[tuple[str, str], dict[str, str]] = {
        (room["key"], grade): {} for room in school["classrooms"] for grade in room["grades"]
    }
    for reading in worst_windows():
        if reading["part"] is None and reading["status"] in MISSED:
            found[reading["classroom"], reading["grade"]][reading["rule"]] = reading["status"]
    return found


def windows(school: Json, classroom: str, rule: str, grade: str | None = None) -> list[Json]:
    """Every window of a rule of one part for a classroom, in the order of the year."""
    only = {**school, "classrooms": [room for room in school["classrooms"] if room["key"] == classroom]}
    only["rules"] = [each for each in school["rules"] if each["key"] == rule]
    readings = engine_readings(only, AS_OF, windows="all")
    return [r for r in readings if r["part"] == 0 and grade in (None, r["grade"])]


def missed_windows(school: Json, classroom: str, rule: str) -> list[tuple[str, str]]:
    """First and last school day of each window in which a classroom misses a rule."""
    return [
        (window["window"]["from"], window["window"]["to"])
        for window in windows(school, classroom, rule)
        if window["status"] in MISSED
    ]


def without_changes(school: Json, *names: str) -> Json:
    """The school had these day changes never been."""
    assert set(names) <= {change["name"] for change in school["day_changes"]}, names
    kept = [change for change in school["day_changes"] if change["name"] not in names]
    return {**deepcopy(school), "day_changes": kept}


def week_of(school: Json, classroom: str, starts: str = "2026-09-08") -> Json:
    week: Json = next(w for w in school["weeks"] if w["classroom"] == classroom and w["from"] == starts)
    return week


def blocks(week: Json, *, plain_only: bool = False) -> Iterable[tuple[str, str, Json]]:
    """Each block of a week with its column's day and kind."""
    for column in week["columns"]:
        if not plain_only or "kind" not in column:
            for block in column["blocks"]:
                yield column.get("day", ""), column.get("kind", "regular"), block
