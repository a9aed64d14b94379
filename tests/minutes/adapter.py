"""A school file given straight to the engine, without a database, in the shape `audit` prints."""

import datetime as dt
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from scheduling.minutes.readings import Reading, readings
from scheduling.minutes.rules import Figure
from teamroom.school_file.plans import plan_of, rules_of, year_of

School = Mapping[str, Any]
FIGURES = ("required", "planned", "margin", "so_far")


def engine_readings(school: School, as_of: dt.date, windows: str = "worst") -> list[dict[str, Any]]:
    """The readings of a valid school file, classroom by classroom, as `audit` would print them."""
    exact = exact_engine_readings(school, as_of, windows)
    return [{**row, **{name: display(row[name]) for name in FIGURES}} for row in exact]


def exact_engine_readings(school: School, as_of: dt.date, windows: str = "worst") -> list[dict[str, Any]]:
    """The same with its figures unrounded."""
    year, rules = year_of(school), rules_of(school)
    every = windows == "all"
    return [
        told(reading, classroom["key"], every=every)
        for classroom in school.get("classrooms", ())
        for reading in readings(year, plan_of(school, classroom), rules, as_of=as_of, every_window=every)
    ]


def told(reading: Reading, classroom: str, *, every: bool) -> dict[str, Any]:
    row: dict[str, Any] = {
        "classroom": classroom,
        "grade": reading.grade,
        "rule": reading.rule,
        "part": reading.part,
        "window": reading.first
        and reading.last
        and {"from": reading.first.isoformat(), "to": reading.last.isoformat()},
        "required": reading.required,
        "planned": reading.planned,
        "margin": reading.margin,
        "status": reading.status,
        "so_far": reading.so_far,
    }
    if not every:
        row["short_windows"] = reading.short_windows
    return row


def display(figure: Figure | None) -> int | float | None:
    if figure is None or isinstance(figure, int):
        return figure
    return figure.numerator if figure.denominator == 1 else float(round(Fraction(figure), 2))
