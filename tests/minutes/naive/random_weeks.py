"""Random columns of blocks, bell schedules and day changes for random school files."""

from dataclasses import dataclass
from random import Random
from typing import Any

REGULAR = "regular"
LENGTHS = [5, 5, 10, 10, 15, 15, 20, 20, 25, 30, 30, 40, 45, 60, 90, 7, 13, 1]
GAPS = [0, 0, 0, 0, 0, 0, 5, 5, 10, 3]


@dataclass(frozen=True)
class DayPlan:
    """What a day may hold: activities, cycle days and kinds of the school, and when days begin."""

    activities: list[str]
    cycle_days: list[str]
    kinds: list[str]
    first_minute: int


def clock_text(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


def random_credits(rng: Random, plan: DayPlan, length: int, most: int) -> list[dict[str, Any]]:
    """One to `most` different activities, of one minute or more each, within `length` in all."""
    wanted = rng.randint(1, min(most, length, len(plan.activities)))
    left = length if rng.random() < 0.6 else rng.randint(wanted, length)
    credits = []
    for place, activity in enumerate(rng.sample(plan.activities, wanted)):
        still_to_come = wanted - place - 1
        minutes = left if still_to_come == 0 else rng.randint(1, left - still_to_come)
        left = left - minutes
        credits.append({"activity": activity, "minutes": minutes})
    return credits


def random_blocks(rng: Random, plan: DayPlan) -> list[dict[str, Any]]:
    """Blocks that never overlap and often touch, sometimes the same activity twice running."""
    blocks: list[dict[str, Any]] = []
    minute = plan.first_minute + rng.choice([0, 0, 0, 5, -10, 15])
    activity = rng.choice(plan.activities)
    for _ in range(rng.choice([0, 1, 2, 3, 4, 5, 6, 7, 8])):
        minute = minute + rng.choice(GAPS)
        length = rng.choice(LENGTHS)
        if rng.random() < 0.7:
            activity = rng.choice(plan.activities)
        block: dict[str, Any] = {
            "start": clock_text(minute),
            "end": clock_text(minute + length),
            "activity": activity,
        }
        if rng.random() < 0.2:
            block["credits"] = random_credits(rng, plan, length, 3)
        blocks.append(block)
        minute = minute + length
    rng.shuffle(blocks)
    return blocks


def random_columns(rng: Random, plan: DayPlan) -> list[dict[str, Any]]:
    """Columns of all three sorts: a cycle day's plain one, one of a day and kind, a kind's own."""
    columns: list[dict[str, Any]] = []
    for day in plan.cycle_days:
        if rng.random() < 0.85:
            column: dict[str, Any] = {"day": day, "blocks": random_blocks(rng, plan)}
            if rng.random() < 0.1:
                column["kind"] = REGULAR
            columns.append(column)
    for kind in plan.kinds:
        for day in plan.cycle_days:
            if rng.random() < 0.12:
                columns.append({"day": day, "kind": kind, "blocks": random_blocks(rng, plan)})
    for kind in [*plan.kinds, REGULAR]:
        if rng.random() < (0.15 if kind == REGULAR else 0.45):
            columns.append({"kind": kind, "blocks": random_blocks(rng, plan)})
    rng.shuffle(columns)
    return columns


def random_bells(rng: Random, plan: DayPlan, grades: list[str]) -> list[dict[str, Any]]:
    """At most one bell schedule for each grade and kind; some kinds have none."""
    groups = rng.choice([[grades], [grades[:1], grades[1:]], [[grade] for grade in grades]])
    bells = []
    for kind in [REGULAR, *plan.kinds]:
        for group in groups:
            if rng.random() < (0.85 if kind == REGULAR else 0.6):
                bells.append(random_bell(rng, plan, group, kind))
    rng.shuffle(bells)
    return bells


def random_bell(rng: Random, plan: DayPlan, grades: list[str], kind: str) -> dict[str, Any]:
    start = plan.first_minute + rng.choice([0, 0, 0, 5, 10, 30])
    length = rng.choice([180, 240, 360]) if kind == REGULAR else rng.choice([20, 60, 75, 90, 100, 150])
    bell: dict[str, Any] = {
        "grades": list(grades),
        "start": clock_text(start),
        "dismissal": clock_text(start + length),
    }
    if kind != REGULAR or rng.random() < 0.5:
        bell["kind"] = kind
    fixed = []
    minute = start + rng.choice([0, 5, 15, 30, 60])
    for _ in range(rng.choice([0, 1, 1, 2, 3])):
        end = minute + rng.choice([5, 10, 15, 20, 30])
        if end > start + length:
            break
        stretch: dict[str, Any] = {
            "activity": rng.choice([plan.activities[0], rng.choice(plan.activities)]),
            "start": clock_text(minute),
            "end": clock_text(end),
        }
        if rng.random() < 0.4:
            stretch["days"] = rng.sample(plan.cycle_days, rng.randint(1, len(plan.cycle_days)))
        fixed.append(stretch)
        minute = end + rng.choice([0, 0, 5, 30, 60])
    if fixed:
        bell["fixed"] = fixed
    return bell


def random_day_change(rng: Random, plan: DayPlan) -> tuple[dict[str, Any], tuple[int, int]]:
    """A day change without its date and scope, and the minutes [from, to) it takes."""
    if rng.random() < 0.3:
        return {"name": "No school", "closed": True}, (0, 24 * 60)
    start = plan.first_minute + rng.choice([-30, 0, 0, 5, 10, 15, 20, 30, 45, 47, 60, 90, 120])
    end = start + rng.choice([5, 10, 15, 20, 30, 60, 120, 3])
    change: dict[str, Any] = {"name": "Outing", "from": clock_text(start), "to": clock_text(end)}
    if rng.random() < 0.65:
        change["credits"] = random_credits(rng, plan, end - start, 2)
    return change, (start, end)
