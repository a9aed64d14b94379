"""A school file given straight to the engine, without a database, in the shape `audit` prints."""

import datetime as dt
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from scheduling.minutes.definitions import body_of, rule_from
from scheduling.minutes.plan import (
    Bell,
    Block,
    ClassroomPlan,
    Column,
    Credit,
    DayChange,
    FixedStretch,
    Version,
)
from scheduling.minutes.readings import Reading, readings
from scheduling.minutes.rules import Figure, Rule
from scheduling.minutes.year import Year
from teamroom.dates.calendar_maths import REGULAR, Cycle, school_days

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


def year_of(school: School) -> Year:
    year = school["year"]
    first, last = date(year["first_day"]), date(year["last_day"])
    cycle = year.get("cycle", {})
    days = school_days(
        first,
        last,
        cycle=Cycle(
            cycle.get("kind", "weekdays"),
            cycle.get("length", 6),
            date(cycle["starts"]) if "starts" in cycle else None,
        ),
        closed=[(date(span["from"]), date(span["to"])) for span in year.get("closed", ())],
        standing_kinds={s["day"]: s["kind"] for s in year.get("standing_kinds", ())},
        named_days={date(day["date"]): day["kind"] for day in year.get("days", ())},
    )
    return Year(days, first_day=first, last_day=last)


def rules_of(school: School) -> list[Rule]:
    return [
        rule_from(
            body_of(rule),
            key=rule["key"],
            grades=frozenset(rule["grades"]),
            effective_from=maybe_date(rule.get("effective", {}).get("from")),
            effective_to=maybe_date(rule.get("effective", {}).get("to")),
            not_checkable=rule.get("not_checkable", ""),
        )
        for rule in school.get("rules", ())
    ]


def plan_of(school: School, classroom: School) -> ClassroomPlan:
    return ClassroomPlan(
        grades=tuple(classroom["grades"]),
        versions=tuple(
            Version(date(week["from"]), tuple(column_of(c) for c in week.get("columns", ())))
            for week in school.get("weeks", ())
            if week["classroom"] == classroom["key"] and not week.get("draft")
        ),
        bells={
            bell.get("kind", REGULAR): bell_of(bell)
            for bell in school.get("bell_schedules", ())
            if classroom["grades"][0] in bell["grades"]
        },
        changes=tuple(change_of(change) for change in school.get("day_changes", ()) if reaches(change, classroom)),
    )


def reaches(change: School, classroom: School) -> bool:
    rooms, teams = change.get("classrooms") or [], change.get("teams") or []
    return not (rooms or teams) or classroom["key"] in rooms or classroom["team"] in teams


def column_of(column: School) -> Column:
    return Column(
        column.get("day"),
        column.get("kind", REGULAR),
        tuple(
            Block(
                minutes(block["start"]),
                minutes(block["end"]),
                block.get("activity", ""),
                credits_of(block),
            )
            for block in column.get("blocks", ())
        ),
    )


def credits_of(written: School) -> tuple[Credit, ...]:
    return tuple(Credit(c["activity"], c["minutes"]) for c in written.get("credits", ()))


def bell_of(bell: School) -> Bell:
    return Bell(
        minutes(bell["start"]),
        minutes(bell["dismissal"]),
        tuple(
            FixedStretch(
                minutes(fixed["start"]),
                minutes(fixed["end"]),
                fixed["activity"],
                frozenset(fixed["days"]) if "days" in fixed else None,
            )
            for fixed in bell.get("fixed", ())
        ),
    )


def change_of(change: School) -> DayChange:
    if change.get("closed"):
        return DayChange(date(change["date"]), change["name"], closed=True)
    return DayChange(
        date(change["date"]),
        change["name"],
        start=minutes(change["from"]),
        end=minutes(change["to"]),
        credits=credits_of(change),
    )


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


def minutes(clock: str) -> int:
    hours, mins = clock.split(":")
    return int(hours) * 60 + int(mins)


def date(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def maybe_date(text: str | None) -> dt.date | None:
    return date(text) if text else None
