"""The naive counter: a valid school file in, the audit's readings out.

Written from the description of how minutes are counted alone and never from the engine, so that
the two can be compared. Exact figures are fractions; only `shown` rounds.
"""

import calendar
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any, Literal

from tests.minutes.naive.calendar_days import day_of, monday_of
from tests.minutes.naive.counting import CountedDay, count_day, figure
from tests.minutes.naive.layout import ClassDay, class_days

TESTS = ["at_least", "at_most", "recommended", "share", "unbroken", "days_met"]
STATUS_BELOW = {"at_most": "over", "recommended": "below advice"}
DEFAULT_SHORT_WINDOW = {"week": "prorate", "run": "skip", "month": "skip"}
FIGURES = ["required", "planned", "margin", "so_far"]


@dataclass(frozen=True)
class Window:
    """All school days of one window; `size` is the days it should have, where that can be said."""

    days: list[ClassDay]
    short: bool = False
    size: int | None = None


def shown(value: Fraction | None) -> int | float | None:
    """A whole figure as an int, any other to two decimals (a half to the even digit)."""
    if value is None:
        return None
    if value.denominator == 1:
        return int(value)
    return float(round(value, 2))


def naive_readings(
    school: dict[str, Any], as_of: date, windows: Literal["worst", "all"] = "worst"
) -> list[dict[str, Any]]:
    """The readings as `audit --format json` prints them, without a trace."""
    readings = exact_readings(school, as_of, windows)
    for reading in readings:
        for key in FIGURES:
            reading[key] = shown(reading[key])
    return readings


def exact_readings(
    school: dict[str, Any], as_of: date, windows: Literal["worst", "all"] = "worst"
) -> list[dict[str, Any]]:
    """The same readings with every figure as an exact fraction."""
    readings = []
    for classroom in school.get("classrooms", []):
        days = class_days(school, classroom)
        for rule in school.get("rules", []):
            for grade in classroom["grades"]:
                if grade in rule["grades"]:
                    about = {"classroom": classroom["key"], "grade": grade, "rule": rule["key"]}
                    for found in readings_of_rule(school, rule, days, as_of, windows):
                        readings.append(about | found)
    return readings


def parts_of(rule: dict[str, Any]) -> list[dict[str, Any]]:
    if "all" in rule:
        return list(rule["all"])
    if "any" in rule:
        return list(rule["any"])
    return [rule]


def readings_of_rule(
    school: dict[str, Any], rule: dict[str, Any], days: list[ClassDay], as_of: date, windows: str
) -> list[dict[str, Any]]:
    """The readings of each part, then the verdict.

    OPEN POINT: `effective` of a rule that is not checkable. Read here: it has no window, so its
    verdict is always given.
    """
    if "not_checkable" in rule:
        return [verdict("not checkable", windows)]
    readings: list[dict[str, Any]] = []
    statuses = []
    for place, part in enumerate(parts_of(rule)):
        found = readings_of_part(school, rule, part, days, as_of)
        if not found:
            continue
        for reading in found:
            reading["part"] = place
        missed = [reading["status"] for reading in found if reading["status"] != "met"]
        statuses.append(missed[0] if missed else "met")
        readings.extend(found if windows == "all" else [worst_of(found)])
    if statuses:
        readings.append(verdict(status_of_rule(rule, statuses), windows))
    return readings


def status_of_rule(rule: dict[str, Any], statuses: list[str]) -> str:
    """OPEN POINT: a part without a checked window. Read here: it is left out of the verdict."""
    if "any" in rule and "met" in statuses:
        return "met"
    for status in ["short", "over", "below advice"]:
        if status in statuses:
            return status
    return "met"


def verdict(status: str, windows: str) -> dict[str, Any]:
    reading: dict[str, Any] = {"part": None, "window": None, "status": status}
    for key in FIGURES:
        reading[key] = None
    if windows == "worst":
        reading["short_windows"] = None
    return reading


def worst_of(found: list[dict[str, Any]]) -> dict[str, Any]:
    """The reading with the smallest margin, the earliest of equals, and how many fall short."""
    worst = found[0]
    for reading in found:
        if reading["margin"] < worst["margin"]:
            worst = reading
    short_windows = sum(1 for reading in found if reading["margin"] < 0)
    return worst | {"short_windows": short_windows}


def readings_of_part(
    school: dict[str, Any],
    rule: dict[str, Any],
    part: dict[str, Any],
    days: list[ClassDay],
    as_of: date,
) -> list[dict[str, Any]]:
    """One reading for each checked window, in order of time."""
    kinds = part.get("day_kinds")
    found = []
    for window in windows_of(school, part, days):
        counting = [day for day in window.days if kinds is None or day.kind in kinds]
        if not counting or not in_force(rule, window.days[0].on):
            continue
        if window.short and short_window_of(part) == "skip":
            continue
        counted = [count_day(part, day) for day in counting]
        found.append(reading_of_window(part, window, counted, as_of))
    return found


def reading_of_window(part: dict[str, Any], window: Window, counted: list[CountedDay], as_of: date) -> dict[str, Any]:
    """One reading. `so_far` is the same figure over the days before `as_of`, against the same
    requirement, so a share cap limits it to the same minutes as it does the whole year.
    """
    required = required_in(part, window)
    planned, margin = figure(part, counted, required)
    so_far = None
    if window_kind(part) == "year":
        so_far, _ = figure(part, [day for day in counted if day.on < as_of], required)
    return {
        "window": {"from": window.days[0].on.isoformat(), "to": window.days[-1].on.isoformat()},
        "required": required,
        "planned": planned,
        "margin": margin,
        "status": "met" if margin >= 0 else STATUS_BELOW.get(kind_of_test(part), "short"),
        "so_far": so_far,
    }


def kind_of_test(part: dict[str, Any]) -> str:
    return next(test for test in TESTS if test in part)


def required_in(part: dict[str, Any], window: Window) -> Fraction:
    """The figure asked for, prorated in a short window where that is the policy."""
    test = kind_of_test(part)
    figure_asked = part[test]
    if test in ("share", "days_met"):
        figure_asked = figure_asked["at_least"]
    required = Fraction(figure_asked)
    keeps_full = "mean" in part or test in ("share", "unbroken")
    if window.short and window.size and short_window_of(part) == "prorate" and not keeps_full:
        return required * len(window.days) / window.size
    return required


def in_force(rule: dict[str, Any], first: date) -> bool:
    """A window counts if its first day lies within the rule's dates, both inclusive."""
    effective = rule.get("effective", {})
    if effective.get("from") and first < day_of(effective["from"]):
        return False
    return not (effective.get("to") and first > day_of(effective["to"]))


def window_kind(part: dict[str, Any]) -> str:
    return str(part.get("window", "run" if "run" in part else "week"))


def short_window_of(part: dict[str, Any]) -> str:
    return str(part.get("short_window", DEFAULT_SHORT_WINDOW.get(window_kind(part), "full")))


def windows_of(school: dict[str, Any], part: dict[str, Any], days: list[ClassDay]) -> list[Window]:
    """Every window of the part that holds a school day of the classroom, in order of time."""
    kind = window_kind(part)
    if not days:
        return []
    if kind == "day":
        return [Window([day]) for day in days]
    if kind == "year":
        return [Window(days)]
    if kind == "run":
        return runs(days, part["run"]["days"], part["run"].get("rolling", False))
    found = []
    for start in sorted({period_start(kind, day.on) for day in days}):
        inside = [day for day in days if period_start(kind, day.on) == start]
        if kind == "week":
            found.append(Window(inside, short=len(inside) < 5, size=5))
        else:
            found.append(Window(inside, short=not whole_month(school, start)))
    return found


def period_start(kind: str, on: date) -> date:
    return monday_of(on) if kind == "week" else on.replace(day=1)


def whole_month(school: dict[str, Any], first: date) -> bool:
    """OPEN POINT: what "wholly inside the year" looks at. Read here: the dates `first_day` and
    `last_day` of the year, whether or not the month's first and last dates have pupils.
    """
    last = first.replace(day=calendar.monthrange(first.year, first.month)[1])
    year = school["year"]
    return day_of(year["first_day"]) <= first and last <= day_of(year["last_day"])


def runs(days: list[ClassDay], length: int, rolling: bool) -> list[Window]:
    if rolling:
        if len(days) < length:
            return [Window(days, short=True, size=length)]
        return [Window(days[start : start + length], size=length) for start in range(len(days) - length + 1)]
    found = []
    for start in range(0, len(days), length):
        run = days[start : start + length]
        found.append(Window(run, short=len(run) < length, size=length))
    return found
