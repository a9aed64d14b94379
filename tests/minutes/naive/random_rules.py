"""Random rules for random school files: every piece of a part, in every legal combination."""

from datetime import timedelta
from fractions import Fraction
from math import ceil
from random import Random
from typing import Any

from tests.minutes.naive.calendar_days import day_of
from tests.minutes.naive.counter import exact_readings, parts_of

PROVISIONAL = 60
AMOUNT_TESTS = ["at_least", "at_most", "recommended"]
TESTS = (
    ["at_least"] * 5
    + ["at_most", "at_most", "recommended", "share", "share", "unbroken", "unbroken"]
    + [
        "days_met",
        "days_met",
    ]
)


def random_rules(rng: Random, school: dict[str, Any], most: int) -> list[dict[str, Any]]:
    """Rules with provisional figures."""
    return [random_rule(rng, school, f"rule{number + 1}") for number in range(rng.randint(min(2, most), most))]


def random_rule(rng: Random, school: dict[str, Any], key: str) -> dict[str, Any]:
    taught = sorted({grade for classroom in school["classrooms"] for grade in classroom["grades"]})
    rule: dict[str, Any] = {
        "key": key,
        "name": "Rule " + key,
        "grades": rng.sample(taught, rng.randint(1, len(taught))),
        "standing": rng.choice(["law", "district", "school", "advice"]),
    }
    if rng.random() < 0.3:
        rule["citation"] = {"title": "An invented rule", "checked": "2025-01-15"}
    if rng.random() < 0.3:
        rule["effective"] = random_dates(rng, school)
    shape = rng.choice(["part"] * 6 + ["all", "all", "any", "any"])
    if rng.random() < 0.06:
        rule["not_checkable"] = "depends on groups of pupils"
    elif shape == "part":
        rule.update(random_part(rng, school))
    else:
        rule[shape] = [random_part(rng, school) for _ in range(rng.randint(2, 3))]
    return rule


def random_dates(rng: Random, school: dict[str, Any]) -> dict[str, str]:
    """One or both ends, in the year or a little outside it."""
    first = day_of(school["year"]["first_day"])
    length = (day_of(school["year"]["last_day"]) - first).days
    start, end = sorted([rng.randint(-10, length + 10), rng.randint(-10, length + 10)])
    dates = {
        "from": (first + timedelta(days=start)).isoformat(),
        "to": (first + timedelta(days=end)).isoformat(),
    }
    if rng.random() < 0.5:
        dates.pop(rng.choice(["from", "to"]))
    return dates


def random_part(rng: Random, school: dict[str, Any]) -> dict[str, Any]:
    activities = [activity["key"] for activity in school["activities"]]
    part: dict[str, Any] = {}
    pool = random_pool(rng, activities)
    if pool != {"except": []} or rng.random() < 0.5:
        part["pool"] = pool
    counted = pool["of"] if "of" in pool else [a for a in activities if a not in pool["except"]]
    test = rng.choice(TESTS)
    part[test] = PROVISIONAL
    if test == "share":
        part[test] = {"at_least": "1/2", "of": random_pool(rng, activities)}
    if test == "days_met":
        part[test] = {"at_least": 2}
        if rng.random() < 0.7:
            part[test]["minutes"] = rng.choice([1, 5, 10, 15, 20, 30, 45])
    add_window(rng, part)
    if test in AMOUNT_TESTS and rng.random() < 0.3:
        part["mean"] = rng.choice(["day", "week"])
    if rng.random() < 0.3:
        part["sitting"] = rng.choice([5, 10, 15, 20, 25, 30, 45])
    if test != "unbroken" and rng.random() < 0.45:
        part["caps"] = random_caps(rng, counted, may_share=test in AMOUNT_TESTS)
    if rng.random() < 0.3:
        part["not_beside"] = random_not_beside(rng, counted, activities)
    kinds = ["regular", *(kind["key"] for kind in school["year"]["day_kinds"])]
    if rng.random() < 0.25:
        part["day_kinds"] = rng.sample(kinds, rng.randint(1, len(kinds)))
    return part


def random_pool(rng: Random, activities: list[str]) -> dict[str, Any]:
    """A set of activities, or everything except a set; never an empty pool."""
    if rng.random() < 0.6:
        return {"of": rng.sample(activities, rng.randint(1, len(activities)))}
    return {"except": rng.sample(activities, rng.randint(0, len(activities) - 1))}


def add_window(rng: Random, part: dict[str, Any]) -> None:
    """A window, sometimes left to the default, with a policy for short ones where it can be short."""
    window = rng.choice(["day", "week", "week", "run", "run", "month", "year", "year"])
    policies = ["full", "prorate", "skip"]
    if window == "run":
        part["run"] = {"days": rng.choice([1, 2, 3, 4, 5, 7, 10, 60])}
        if rng.random() < 0.6:
            part["run"]["rolling"] = rng.random() < 0.7
    if window not in ("week", "run") or rng.random() < 0.6:
        part["window"] = window
    if window == "month":
        policies = ["full", "skip"]
    if window in ("week", "run", "month") and rng.random() < 0.65:
        part["short_window"] = rng.choice(policies)


def random_caps(rng: Random, counted: list[str], may_share: bool) -> list[dict[str, Any]]:
    """One or two caps on activities of the pool, no two of the same sort on one activity."""
    caps: dict[tuple[str, str], dict[str, Any]] = {}
    for _ in range(rng.randint(1, 2)):
        activity = rng.choice(counted)
        per = rng.choice(["sitting", "day", "week", "year", "share"])
        if per == "share":
            if may_share:
                share = rng.choice(["15/100", "1/4", "1/3", "1/2", "1/10"])
                caps[activity, per] = {"activity": activity, "at_most_share": share}
            continue
        most = {"sitting": [5, 10, 15, 20], "day": [5, 10, 20, 30], "week": [20, 45, 60, 100], "year": [60, 100, 250]}
        caps[activity, per] = {"activity": activity, "at_most": rng.choice(most[per]), "per": per}
        if per == "day" and rng.random() < 0.5:
            caps[activity, per].pop("per")
    if not caps:
        caps[counted[0], "day"] = {"activity": counted[0], "at_most": 10}
    return list(caps.values())


def random_not_beside(rng: Random, counted: list[str], activities: list[str]) -> list[dict[str, Any]]:
    pairs = {}
    for _ in range(rng.randint(1, 2)):
        activity = rng.choice(counted)
        beside = rng.choice([other for other in activities if other != activity])
        pairs[activity, beside] = {"activity": activity, "beside": beside}
    return list(pairs.values())


def set_figures_near_what_is_planned(rng: Random, school: dict[str, Any]) -> None:
    """Moves every provisional figure close to what some window of some classroom comes to."""
    readings = exact_readings(school, day_of(school["year"]["first_day"]), "all")
    for rule in school["rules"]:
        if "not_checkable" in rule:
            continue
        for place, part in enumerate(parts_of(rule)):
            found = [r for r in readings if r["rule"] == rule["key"] and r["part"] == place]
            if found:
                set_figure(rng, part, rng.choice(found))


def set_figure(rng: Random, part: dict[str, Any], reading: dict[str, Any]) -> None:
    planned = reading["planned"]
    if "share" in part:
        near = planned.limit_denominator(rng.choice([4, 10, 100]))
        near = min(Fraction(1), max(Fraction(1, 20), near))
        part["share"]["at_least"] = f"{near.numerator}/{near.denominator}"
    elif "days_met" in part:
        in_full = planned * part["days_met"]["at_least"] / reading["required"]
        part["days_met"]["at_least"] = max(1, ceil(in_full) + rng.choice([-1, 0, 0, 0, 1]))
    else:
        test = next(test for test in [*AMOUNT_TESTS, "unbroken"] if test in part)
        in_full = ceil(planned * PROVISIONAL / reading["required"])
        part[test] = max(1, in_full + rng.choice([-15, -5, -1, 0, 0, 0, 1, 5, 10]))
