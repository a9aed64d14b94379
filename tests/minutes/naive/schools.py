"""Random small school files that are valid, for comparing the engine with the naive counter.

Minutes are mostly multiples of five and days are short, so that blocks touch, stretches join and
caps bite; figures are set near what the classrooms reach, so that rules are both met and missed.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import Any

from hypothesis import strategies as st

from tests.minutes.naive.calendar_days import WEEKDAY_KEYS, day_of, every_date, has_pupils, school_dates
from tests.minutes.naive.random_rules import random_rules, set_figures_near_what_is_planned
from tests.minutes.naive.random_weeks import DayPlan, random_bells, random_columns, random_day_change

ACTIVITIES = ["recess", "lunch", "math", "reading", "science", "pe", "arts"]
KINDS = ["minimum", "half", "early"]
GRADES = ["3", "4", "5"]


@dataclass(frozen=True)
class Size:
    """How large a school may become; `weeks` of the year, and how many of the rest at most."""

    weeks: tuple[int, int]
    classrooms: int
    rules: int
    versions: int


ORDINARY = Size(weeks=(3, 10), classrooms=3, rules=6, versions=3)
SMALL = Size(weeks=(1, 4), classrooms=2, rules=3, versions=2)


def random_school(rng: Random, size: Size = ORDINARY) -> dict[str, Any]:
    """A valid school file drawn from `rng`; the same state of `rng` gives the same school."""
    activities = ACTIVITIES[: rng.randint(3, len(ACTIVITIES))]
    kinds = rng.sample(KINDS, rng.randint(0, len(KINDS)))
    school: dict[str, Any] = {
        "format": "teamroom school file",
        "version": 1,
        "school": {"name": "Random School", "time_zone": "America/Chicago"},
        "year": random_year(rng, size, kinds),
        "activities": [{"key": key, "name": key.title()} for key in activities],
    }
    cycle_days = cycle_days_of(school)
    plan = DayPlan(activities, cycle_days, kinds, first_minute=rng.choice([480, 485, 500]))
    school["bell_schedules"] = random_bells(rng, plan, GRADES)
    school["teams"], school["classrooms"] = random_classrooms(rng, size)
    school["weeks"] = random_weeks(rng, school, plan, size)
    school["day_changes"] = random_day_changes(rng, school, plan)
    school["rules"] = random_rules(rng, school, size.rules)
    set_figures_near_what_is_planned(rng, school)
    return school


def random_schools(size: Size = SMALL) -> st.SearchStrategy[dict[str, Any]]:
    """The same schools for Hypothesis, which may then make a failing one simpler."""
    return st.randoms(use_true_random=False).map(lambda rng: random_school(rng, size))


def random_year(rng: Random, size: Size, kinds: list[str]) -> dict[str, Any]:
    first = date(2025, rng.randint(1, 12), rng.choice([1, 1, 2, 3, 8, 15, 20, 26, 28]))
    last = first + timedelta(days=rng.randint(size.weeks[0] * 7 - 3, size.weeks[1] * 7))
    if rng.random() < 0.4:
        last = last.replace(day=1) - timedelta(days=1) if last.month != first.month else last
    year: dict[str, Any] = {"name": "2025", "first_day": first.isoformat(), "last_day": last.isoformat()}
    year["closed"] = random_closures(rng, first, last)
    year["day_kinds"] = [{"key": key, "name": key.title() + " day"} for key in kinds]
    if kinds:
        standing = rng.sample(WEEKDAY_KEYS[:5], rng.randint(0, 2))
        year["standing_kinds"] = [{"day": day, "kind": rng.choice(kinds)} for day in standing]
    named = rng.sample(every_date(first, last), rng.randint(0, min(6, (last - first).days)))
    year["days"] = [
        {"date": on.isoformat(), "kind": rng.choice([*kinds, *kinds, "regular"])}
        for on in sorted(named)
        if not any(day_of(span["from"]) <= on <= day_of(span["to"]) for span in year["closed"])
    ]
    cycle = random_cycle(rng, year)
    if cycle is not None:
        year["cycle"] = cycle
    return year


def random_closures(rng: Random, first: date, last: date) -> list[dict[str, Any]]:
    closures: list[dict[str, Any]] = []
    on = first + timedelta(days=rng.randint(0, 12))
    while on <= last and len(closures) < 3 and rng.random() < 0.7:
        until = min(last, on + timedelta(days=rng.choice([0, 0, 0, 1, 2, 4, 6, 8])))
        closures.append({"from": on.isoformat(), "to": until.isoformat(), "name": "Closed"})
        on = until + timedelta(days=rng.randint(2, 20))
    return closures


def random_cycle(rng: Random, year: dict[str, Any]) -> dict[str, Any] | None:
    kind = rng.choice([None, "weekdays", "alternating weeks", "alternating weeks", "rotating days", "rotating days"])
    if kind is None:
        return None
    cycle: dict[str, Any] = {"kind": kind}
    if kind == "rotating days" and rng.random() < 0.8:
        cycle["length"] = rng.randint(2, 6)
    if kind != "weekdays" and rng.random() < 0.6:
        dates = every_date(day_of(year["first_day"]), day_of(year["last_day"]))
        starts = rng.choice(dates)
        if any(has_pupils({"year": year}, on) for on in dates if on >= starts):
            cycle["starts"] = starts.isoformat()
    return cycle


def cycle_days_of(school: dict[str, Any]) -> list[str]:
    """Every name a column may carry, in a fixed order; `sat` and `sun` only if a date uses them."""
    cycle = school["year"].get("cycle", {"kind": "weekdays"})
    if cycle["kind"] == "rotating days":
        return [str(number + 1) for number in range(cycle.get("length", 6))]
    names = WEEKDAY_KEYS[:5]
    if cycle["kind"] == "alternating weeks":
        names = [letter + "-" + day for letter in "AB" for day in names]
    weekend = {day.cycle_day for day in school_dates(school)} - set(names)
    return names + sorted(weekend)


def random_classrooms(rng: Random, size: Size) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Teams and classrooms; about one class in three is a combination of two grades."""
    classrooms = []
    for number in range(rng.randint(1, size.classrooms)):
        grades = rng.sample(GRADES, 2 if rng.random() < 0.35 else 1)
        classrooms.append({"key": f"room{number + 1}", "team": rng.choice(["lower", "upper"]), "grades": grades})
    teams = [{"key": key, "name": key.title(), "grades": list(GRADES)} for key in ["lower", "upper"]]
    return teams, classrooms


def random_weeks(rng: Random, school: dict[str, Any], plan: DayPlan, size: Size) -> list[dict[str, Any]]:
    first = day_of(school["year"]["first_day"])
    dates = every_date(first, day_of(school["year"]["last_day"]))
    weeks = []
    for classroom in school["classrooms"]:
        starts = rng.sample(dates, min(len(dates), rng.randint(0, size.versions - 1)))
        if rng.random() < 0.8:
            starts = [*starts, first]
        for start in sorted(set(starts)):
            columns = random_columns(rng, plan)
            weeks.append({"classroom": classroom["key"], "from": start.isoformat(), "columns": columns})
    return weeks


def random_day_changes(rng: Random, school: dict[str, Any], plan: DayPlan) -> list[dict[str, Any]]:
    """Day changes on any dates, with and without pupils; two for one classroom never overlap."""
    dates = every_date(day_of(school["year"]["first_day"]), day_of(school["year"]["last_day"]))
    changes: list[dict[str, Any]] = []
    taken: dict[tuple[str, str], list[tuple[int, int]]] = {}
    busy_dates = rng.sample(dates, min(len(dates), 4))
    for _ in range(rng.randint(0, 8)):
        change, span = random_day_change(rng, plan)
        change = {"date": rng.choice(busy_dates).isoformat()} | random_scope(rng, school) | change
        touched = [(key, change["date"]) for key in classrooms_of(school, change)]
        if any(span[0] < end and start < span[1] for place in touched for start, end in taken.get(place, [])):
            continue
        for place in touched:
            taken.setdefault(place, []).append(span)
        changes.append(change)
    return changes


def random_scope(rng: Random, school: dict[str, Any]) -> dict[str, Any]:
    """For the school, some classrooms, some teams, or classrooms and teams together."""
    keys = [classroom["key"] for classroom in school["classrooms"]]
    scope: dict[str, Any] = {}
    which = rng.choice(["school", "classrooms", "classrooms", "teams", "both"])
    if which in ("classrooms", "both"):
        scope["classrooms"] = rng.sample(keys, rng.randint(1, len(keys)))
    if which in ("teams", "both"):
        scope["teams"] = rng.sample(["lower", "upper"], 1)
    return scope


def classrooms_of(school: dict[str, Any], change: dict[str, Any]) -> list[str]:
    classrooms, teams = change.get("classrooms", []), change.get("teams", [])
    return [
        classroom["key"]
        for classroom in school["classrooms"]
        if (not classrooms and not teams) or classroom["key"] in classrooms or classroom["team"] in teams
    ]
