"""A school of any size for measuring: 180 school days, 12 rules of mixed windows, every week its own."""

import random
from typing import Any

from tests.outside.schools import CLOSED, DAYS

LESSONS = ("reading", "writing", "math", "science", "social_studies", "art", "music", "pe", "library", "advisory")
KEPT_TIMES = ("recess", "lunch")
INSTRUCTION = {"except": ["lunch", "recess"]}
RULES: tuple[dict[str, Any], ...] = (
    {"pool": INSTRUCTION, "at_least": 54000, "window": "year"},
    {"pool": INSTRUCTION, "at_least": 240, "window": "day"},
    {
        "any": [
            {"pool": INSTRUCTION, "at_least": 240, "window": "day"},
            {
                "pool": INSTRUCTION,
                "at_least": 240,
                "window": "run",
                "run": {"days": 10, "rolling": True},
                "mean": "day",
            },
        ]
    },
    {"pool": {"of": ["pe"]}, "at_least": 200, "window": "run", "run": {"days": 10}},
    {"pool": {"of": ["pe"]}, "at_least": 200, "window": "run", "run": {"days": 10, "rolling": True}},
    {"pool": {"of": ["math"]}, "at_least": 300, "window": "week"},
    {"pool": {"of": ["reading", "writing"]}, "recommended": 600, "window": "week"},
    {"pool": {"of": ["science", "social_studies"]}, "at_least": 150, "window": "week", "mean": "week"},
    {"pool": {"of": ["reading"]}, "unbroken": 60, "window": "day", "day_kinds": ["regular"]},
    {"pool": {"of": ["pe", "recess"]}, "days_met": {"at_least": 4, "minutes": 20}, "window": "week"},
    {
        "pool": {"of": ["pe", "recess"]},
        "at_least": 600,
        "window": "month",
        "caps": [{"activity": "recess", "at_most": 60, "per": "week"}],
    },
    {
        "pool": {"except": ["lunch"]},
        "at_least": 59400,
        "window": "year",
        "caps": [{"activity": "recess", "at_most_share": "15/100"}],
    },
)


def school_of(classrooms: int, *, seed: int = 1) -> dict[str, Any]:
    """A school file with so many classrooms; 36 to 45 blocks a week, no two weeks planned alike."""
    rng = random.Random(seed)  # noqa: S311 - figures to measure with, nothing to guard
    keys = [f"room{n}" for n in range(1, classrooms + 1)]
    return {
        "format": "teamroom school file",
        "version": 1,
        "school": {"name": f"Measured school of {classrooms}", "time_zone": "America/Chicago"},
        "year": {
            "name": "2026-27",
            "first_day": "2026-09-08",
            "last_day": "2027-06-18",
            "closed": [{"from": first, "to": last, "name": "Closed"} for first, last in CLOSED],
            "day_kinds": [{"key": "minimum", "name": "Minimum day"}],
            "standing_kinds": [{"day": "wed", "kind": "minimum"}],
        },
        "activities": [{"key": key, "name": key.replace("_", " ").title()} for key in (*LESSONS, *KEPT_TIMES)],
        "bell_schedules": [_bell("regular", "14:30"), _bell("minimum", "12:45")],
        "rules": [
            {"key": f"rule{n}", "name": f"Rule {n}", "grades": ["4"], **body} for n, body in enumerate(RULES, start=1)
        ],
        "teams": [{"key": "team4", "name": "Grade 4", "grades": ["4"]}],
        "classrooms": [{"key": key, "team": "team4", "grades": ["4"]} for key in keys],
        "weeks": [
            {
                "classroom": key,
                "from": "2026-09-08",
                "columns": [{"day": day, "blocks": _blocks(rng)} for day in DAYS],
            }
            for key in keys
        ],
    }


def _bell(kind: str, dismissal: str) -> dict[str, Any]:
    return {
        "grades": ["4"],
        "kind": kind,
        "start": "08:00",
        "dismissal": dismissal,
        "fixed": [
            {"activity": "recess", "start": "10:00", "end": "10:15"},
            {"activity": "lunch", "start": "12:00", "end": "12:40"},
        ],
    }


def _blocks(rng: random.Random) -> list[dict[str, Any]]:
    """A day's blocks: three before recess, two or three until lunch, two or three after it."""
    blocks: list[dict[str, Any]] = []
    for start, end, least, most in ((480, 600, 2, 3), (615, 720, 2, 3), (760, 870, 2, 3)):
        count = rng.randint(least, most)
        cuts = sorted(rng.sample(range(start + 10, end - 5, 5), count - 1))
        for low, high in zip((start, *cuts), (*cuts, end), strict=True):
            block: dict[str, Any] = {"start": _clock(low), "end": _clock(high), "activity": rng.choice(LESSONS)}
            if rng.random() < 0.1:
                first, second = rng.sample(LESSONS, 2)
                half = (high - low) // 2
                block["credits"] = [{"activity": first, "minutes": half}, {"activity": second, "minutes": half}]
            blocks.append(block)
    return blocks


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
