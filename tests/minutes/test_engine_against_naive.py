"""The engine against the naive counter on random schools, and the facts that must hold of any school.

The naive counter was written from the description of how minutes are counted and not from the
engine. TEAMROOM_RANDOM_SCHOOLS=2000 compares that many schools instead of 300; every difference
names the seed, and `random_school(Random(seed))` gives the school again.
"""

import json
import os
from copy import deepcopy
from datetime import date, timedelta
from random import Random
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, note, settings
from hypothesis import strategies as st

from teamroom.school_file.checking import checked
from tests.minutes.adapter import engine_readings
from tests.minutes.naive.calendar_days import day_of
from tests.minutes.naive.counter import naive_readings
from tests.minutes.naive.layout import class_days, clock, day_changes_for
from tests.minutes.naive.random_rules import random_not_beside, random_pool
from tests.minutes.naive.random_weeks import clock_text
from tests.minutes.naive.schools import GRADES, SMALL, Size, random_school

Json = dict[str, Any]
SCHOOLS = int(os.environ.get("TEAMROOM_RANDOM_SCHOOLS", "300"))
SEEDS_PER_TEST = 25

modest = settings(
    max_examples=40,
    deadline=None,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)
dice = st.randoms(use_true_random=False)
ONE_ROOM = Size(weeks=(1, 3), classrooms=1, rules=1, versions=1)
SOME_ROOMS = Size(weeks=(1, 3), classrooms=3, rules=3, versions=2)
# A rule for every classroom and day: it sees edits that the few random rules may not look at.
EVERY_MINUTE = {"key": "every", "name": "Every minute", "grades": GRADES, "at_least": 100, "window": "day"}


def key_of(reading: Json) -> tuple[str, ...]:
    window = reading["window"] or {"from": "", "to": ""}
    names = [reading["classroom"], reading["grade"], reading["rule"], str(reading["part"])]
    return (*names, window["from"], window["to"])


def keyed(readings: list[Json]) -> dict[tuple[str, ...], Json]:
    """The readings by what they are about; two about the same thing are a fault by themselves."""
    found = {key_of(reading): reading for reading in readings}
    assert len(found) == len(readings), "two readings about the same classroom, grade, rule, part and window"
    return found


def without_trace(readings: list[Json]) -> list[Json]:
    return [{key: value for key, value in reading.items() if key != "trace"} for reading in readings]


def days_in(key: tuple[str, ...]) -> int:
    """How many dates a window spans, so that the smallest difference is shown first; a verdict last."""
    return (day_of(key[5]) - day_of(key[4])).days if key[4] else 10_000


def difference(school: Json, as_of: date, windows: str) -> str | None:
    """What differs, told on the smallest differing window; None if the two counters agree."""
    naive = keyed(naive_readings(school, as_of, "all" if windows == "all" else "worst"))
    engine = keyed(without_trace(engine_readings(school, as_of, windows)))
    differing = [key for key in naive.keys() | engine.keys() if naive.get(key) != engine.get(key)]
    if not differing:
        return None
    key = min(differing, key=lambda each: (days_in(each), each))
    rule = next(rule for rule in school["rules"] if rule["key"] == key[2])
    return (
        f"{len(differing)} of {len(naive)} readings differ (windows={windows}, as of {as_of}); the smallest:\n"
        f"  naive  {naive.get(key)}\n  engine {engine.get(key)}\n  rule   {json.dumps(rule)}"
    )


def middle_of_year(school: Json) -> date:
    first, last = day_of(school["year"]["first_day"]), day_of(school["year"]["last_day"])
    return first + timedelta(days=(last - first).days // 2)


@pytest.mark.parametrize("first_seed", range(0, SCHOOLS, SEEDS_PER_TEST))
def test_the_engine_agrees_with_the_naive_counter_on_random_schools(first_seed: int) -> None:
    for seed in range(first_seed, min(first_seed + SEEDS_PER_TEST, SCHOOLS)):
        school = random_school(Random(seed))  # noqa: S311  # seeds for tests, nothing secret
        for windows in ["all", "worst"]:
            found = difference(school, middle_of_year(school), windows)
            assert found is None, f"seed {seed}: {found}"


def test_random_schools_hold_every_status_and_every_kind_of_window() -> None:
    """Otherwise the comparison above could pass without comparing much."""
    statuses, windows = set(), set()
    for seed in range(60):
        school = random_school(Random(seed))  # noqa: S311  # seeds for tests, nothing secret
        statuses |= {reading["status"] for reading in naive_readings(school, middle_of_year(school))}
        for rule in school["rules"]:
            windows |= {part.get("window") for part in rule.get("all", rule.get("any", [rule]))}
    assert statuses == {"met", "short", "over", "below advice", "not checkable"}
    assert {"day", "week", "run", "month", "year"} <= windows


def test_every_random_school_is_a_school_file_without_fault() -> None:
    for seed in range(60):
        faults, _ = checked(random_school(Random(seed)))  # noqa: S311  # seeds for tests, nothing secret
        assert faults == [], f"seed {seed}"


@modest
@given(dice)
def test_the_engine_agrees_with_the_naive_counter_on_schools_that_can_be_made_simpler(rng: Random) -> None:
    school = random_school(rng, SMALL)
    note(json.dumps(school))
    for windows in ["all", "worst"]:
        assert difference(school, middle_of_year(school), windows) is None


# Facts that must hold of any school


def engine_by_key(school: Json) -> dict[tuple[str, ...], Json]:
    return keyed(without_trace(engine_readings(school, middle_of_year(school), "all")))


def columns_with_blocks(school: Json) -> list[tuple[Json, Json]]:
    """(week, column) of every column that holds a block."""
    return [(week, column) for week in school["weeks"] for column in week["columns"] if column["blocks"]]


def edit_one_block(rng: Random, school: Json) -> str:
    """Adds, deletes or moves one block, or gives it another activity; returns its classroom."""
    week, column = rng.choice(columns_with_blocks(school))
    place = rng.randrange(len(column["blocks"]))
    edit = rng.choice(["add", "delete", "move", "rename"])
    if edit == "delete":
        column["blocks"].pop(place)
    elif edit == "rename":
        block = column["blocks"][place]
        column["blocks"][place] = {"start": block["start"], "end": block["end"], "activity": "math"}
    else:
        block = column["blocks"][place] if edit == "move" else {"activity": "math"}
        after_all = max(clock(other["end"]) for other in column["blocks"])
        length = clock(block["end"]) - clock(block["start"]) if edit == "move" else 25
        block["start"], block["end"] = clock_text(after_all), clock_text(after_all + length)
        if edit == "add":
            column["blocks"].append(block)
    return str(week["classroom"])


@modest
@given(dice)
def test_an_edit_of_one_block_changes_only_its_classrooms_readings(rng: Random) -> None:
    school = random_school(rng, SOME_ROOMS)
    assume(len(school["classrooms"]) > 1 and columns_with_blocks(school))
    school["rules"].append(EVERY_MINUTE)
    before = engine_by_key(school)
    edited = deepcopy(school)
    classroom = edit_one_block(rng, edited)
    note(json.dumps(edited))
    after = engine_by_key(edited)
    changed = {key for key in before.keys() | after.keys() if before.get(key) != after.get(key)}
    assert {key[0] for key in changed} <= {classroom}
    assert difference(edited, middle_of_year(edited), "all") is None


@modest
@given(dice)
def test_the_order_of_blocks_rules_and_classrooms_changes_no_figure(rng: Random) -> None:
    school = random_school(rng, SMALL)
    shuffled = deepcopy(school)
    lists = [shuffled[key] for key in ["classrooms", "rules", "weeks", "day_changes", "bell_schedules", "activities"]]
    lists += [week["columns"] for week in shuffled["weeks"]]
    lists += [column["blocks"] for week in shuffled["weeks"] for column in week["columns"]]
    lists += [bell["fixed"] for bell in shuffled["bell_schedules"] if "fixed" in bell]
    for each in lists:
        rng.shuffle(each)
    note(json.dumps(shuffled))
    assert engine_by_key(shuffled) == engine_by_key(school)


@modest
@given(dice)
def test_splitting_a_plain_block_in_two_adjacent_halves_changes_no_reading(rng: Random) -> None:
    """Plain blocks only: the halves of an integrated block would share its credits anew."""
    school = random_school(rng, SMALL)
    splittable = [
        (column["blocks"], block)
        for _, column in columns_with_blocks(school)
        for block in column["blocks"]
        if "credits" not in block and clock(block["end"]) - clock(block["start"]) >= 2
    ]
    assume(splittable)
    before = engine_by_key(school)
    blocks, block = rng.choice(splittable)
    cut = clock_text(rng.randint(clock(block["start"]) + 1, clock(block["end"]) - 1))
    blocks.append(block | {"start": cut})
    block["end"] = cut
    note(json.dumps(school))
    assert engine_by_key(school) == before


@modest
@given(dice)
def test_closing_a_day_lowers_an_uncapped_yearly_sum_by_exactly_that_days_minutes(rng: Random) -> None:
    school = random_school(rng, ONE_ROOM)
    classroom = school["classrooms"][0]
    dates = [day.on for day in class_days(school, classroom)]
    unchanged = [on for on in dates if not day_changes_for(school, classroom, on)]
    assume(len(dates) > 1 and unchanged)
    activities = [activity["key"] for activity in school["activities"]]
    counts: Json = {"pool": random_pool(rng, activities), "sitting": rng.choice([1, 15, 30]), "at_least": 100}
    if rng.random() < 0.5:
        counts["not_beside"] = random_not_beside(rng, activities, activities)
    about = {"grades": list(classroom["grades"][:1]), "standing": "law"}
    school["rules"] = [{"key": window, "name": window, "window": window} | about | counts for window in ["day", "year"]]
    on = rng.choice(unchanged).isoformat()
    closed = school | {"day_changes": [*school["day_changes"], {"date": on, "name": "Closed", "closed": True}]}
    note(json.dumps(closed))
    that_day = engine_by_key(school)[classroom["key"], classroom["grades"][0], "day", "0", on, on]["planned"]
    assert the_year(school) - the_year(closed) == that_day


def the_year(school: Json) -> int:
    found = [r["planned"] for key, r in engine_by_key(school).items() if key[2] == "year" and key[3] == "0"]
    assert len(found) == 1
    return int(found[0])
