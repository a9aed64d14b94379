"""A sound school file given straight to the counting, without a database: its year, rules and classrooms' plans."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from scheduling.minutes.definitions import body_of, rule_from
from scheduling.minutes.plan import Bell, Block, ClassroomPlan, Column, Credit, DayChange, FixedStretch, Version
from scheduling.minutes.rules import Rule
from scheduling.minutes.year import Year
from teamroom.dates.calendar_maths import REGULAR, Cycle, school_days

School = Mapping[str, Any]


def year_of(school: School) -> Year:
    year = school["year"]
    first, last = date(year["first_day"]), date(year["last_day"])
    days = school_days(
        first,
        last,
        cycle=cycle_of(school),
        closed=[(date(span["from"]), date(span["to"])) for span in year.get("closed", ())],
        standing_kinds={s["day"]: s["kind"] for s in year.get("standing_kinds", ())},
        named_days={date(day["date"]): day["kind"] for day in year.get("days", ())},
    )
    return Year(days, first_day=first, last_day=last)


def cycle_of(school: School) -> Cycle:
    cycle = school["year"].get("cycle", {})
    starts = date(cycle["starts"]) if "starts" in cycle else None
    return Cycle(cycle.get("kind", "weekdays"), cycle.get("length", 6), starts)


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
                clock_minutes(block["start"]),
                clock_minutes(block["end"]),
                block.get("activity", ""),
                credits_of(block),
                key=id(block),  # so that what else the file says of it is found again
            )
            for block in column.get("blocks", ())
        ),
    )


def credits_of(written: School) -> tuple[Credit, ...]:
    return tuple(Credit(c["activity"], c["minutes"]) for c in written.get("credits", ()))


def bell_of(bell: School) -> Bell:
    return Bell(
        clock_minutes(bell["start"]),
        clock_minutes(bell["dismissal"]),
        tuple(
            FixedStretch(
                clock_minutes(fixed["start"]),
                clock_minutes(fixed["end"]),
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
        start=clock_minutes(change["from"]),
        end=clock_minutes(change["to"]),
        credits=credits_of(change),
    )


def clock_minutes(clock: str) -> int:
    hours, mins = clock.split(":")
    return int(hours) * 60 + int(mins)


def date(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def maybe_date(text: str | None) -> dt.date | None:
    return date(text) if text else None
