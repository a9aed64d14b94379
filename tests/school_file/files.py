"""School files for tests: a small one that uses every key, random ones, and the commands that take them."""

import copy
import io
import json
import re
from pathlib import Path
from random import Random
from typing import Any

from django.core.management import call_command

from tests.minutes.naive.schools import random_school

School = dict[str, Any]

# An invented school whose file says everything a school file can say, each thing once or more.
WHOLE: School = {
    "format": "teamroom school file",
    "version": 1,
    "school": {"name": "Fernhollow Elementary", "time_zone": "America/Chicago", "place": "US-IL"},
    "year": {
        "name": "2026-27",
        "first_day": "2026-08-31",
        "last_day": "2027-06-11",
        "cycle": {"kind": "rotating days", "length": 5, "starts": "2026-09-01"},
        "closed": [
            {"from": "2026-12-21", "to": "2027-01-01", "name": "Winter break"},
            {"from": "2027-01-02", "to": "2027-01-04"},
        ],
        "day_kinds": [
            {"key": "minimum", "name": "Minimum day"},
            {"key": "late"},
            {"key": "regular", "name": "Full day"},
        ],
        "standing_kinds": [{"day": "wed", "kind": "minimum"}],
        "days": [{"date": "2026-09-12", "kind": "late"}, {"date": "2026-09-16", "kind": "regular"}],
        "required_days": {"days": 176, "source": "An invented code, section 2"},
    },
    "activities": [
        {"key": key, "name": name}
        for key, name in (
            ("reading", "Reading"),
            ("math", "Mathematics"),
            ("science", "Science"),
            ("pe", "PE"),
            ("recess", "Récréation"),
            ("lunch", "Lunch"),
        )
    ]
    + [{"key": "art", "name": "Art", "frees_teacher": True}],
    "shared_resources": [
        {"key": "lab", "name": "Science lab"},
        {"key": "aides", "name": "Aides", "capacity": 2},
    ],
    "bell_schedules": [
        {
            "grades": ["4", "5"],
            "start": "08:00",
            "dismissal": "14:30",
            "fixed": [
                {"activity": "recess", "start": "10:00", "end": "10:15", "days": ["1", "2"]},
                {"activity": "lunch", "start": "11:30", "end": "12:00"},
            ],
        },
        {"grades": ["4"], "kind": "minimum", "start": "08:00", "dismissal": "12:30"},
    ],
    "rules": [
        {
            "key": "pe-run",
            "name": "PE over ten days",
            "grades": ["4", "5"],
            "standing": "law",
            "citation": {
                "title": "An invented code, section 1",
                "url": "https://example.org/1",
                "checked": "2026-01-15",
            },
            "effective": {"from": "2026-07-01", "to": "2030-06-30"},
            "note": "Part days are not credited in steps.",
            "pool": {"of": ["pe"]},
            "at_least": 200,
            "run": {"days": 10, "rolling": True},
            "sitting": 15,
            "caps": [
                {"activity": "pe", "at_most": 40},
                {"activity": "pe", "at_most": 30, "per": "sitting"},
                {"activity": "pe", "at_most_share": "1/2"},
            ],
            "not_beside": [{"activity": "pe", "beside": "lunch"}],
            "day_kinds": ["regular", "minimum"],
            "short_window": "full",
        },
        {
            "key": "reading-floor",
            "name": "Reading",
            "grades": ["4"],
            "all": [
                {"pool": {"except": ["lunch", "recess"]}, "at_least": 300, "window": "day", "mean": "week"},
                {"pool": {"of": ["recess"]}, "at_most": 20, "window": "day"},
                {"at_most": 9000, "window": "month"},
            ],
        },
        {
            "key": "either",
            "name": "Either of these",
            "grades": ["5"],
            "standing": "advice",
            "any": [
                {"pool": {"of": ["math"]}, "unbroken": 45},
                {"pool": {"of": ["math"]}, "recommended": 250},
                {
                    "pool": {"of": ["math"]},
                    "share": {"at_least": "15/100", "of": {"except": ["lunch"]}},
                    "window": "year",
                },
                {"pool": {"of": ["math"]}, "days_met": {"at_least": 3, "minutes": 20}},
            ],
        },
        {"key": "groups", "name": "Small groups", "grades": ["4"], "not_checkable": "A week knows no groups."},
    ],
    "teams": [
        {"key": "grade4", "name": "Grade 4", "grades": ["4"]},
        {"key": "grade5", "name": "Grade 5", "grades": ["5"], "edits_together": True},
        {"key": "grade6", "name": "Grade 6", "grades": ["6"], "retired": True},
    ],
    "classrooms": [
        {
            "key": "room12",
            "name": "Room 12",
            "team": "grade4",
            "grades": ["4"],
            "room": "12",
            "enrolment": 0,
            "cap": 30,
        },
        {"key": "room14", "team": "grade5", "grades": ["5", "4"]},
        {"key": "room16", "team": "grade6", "grades": ["6"], "retired": True},
    ],
    "weeks": [
        {
            "classroom": "room12",
            "from": "2026-08-31",
            "columns": [
                {
                    "day": "1",
                    "blocks": [
                        {"start": "08:00", "end": "09:30", "activity": "reading", "why": "before the aide leaves"},
                        {
                            "start": "10:15",
                            "end": "11:30",
                            "activity": "science",
                            "credits": [{"activity": "science", "minutes": 45}, {"activity": "reading", "minutes": 30}],
                            "uses": [{"resource": "lab"}, {"resource": "aides", "amount": 2}],
                        },
                        {"start": "13:00", "end": "13:30", "activity": "pe"},
                    ],
                },
                {"day": "2", "kind": "minimum", "blocks": [{"start": "23:00", "end": "24:00", "activity": "math"}]},
                {"kind": "late"},
                {"kind": "regular", "blocks": [{"start": "09:00", "end": "10:00", "activity": "math"}]},
            ],
        },
        {"classroom": "room12", "from": "2027-01-05"},
        {
            "classroom": "room14",
            "from": "2026-08-31",
            "columns": [
                {
                    "day": "1",
                    "blocks": [
                        {
                            "start": "08:00",
                            "end": "08:40",
                            "activity": "math",
                            "why": "all hands",
                            "credits": [{"activity": "math", "minutes": 30}],
                            "uses": [{"resource": "aides"}],
                            "team_block": "team-block-1",
                        }
                    ],
                }
            ],
        },
        {
            "classroom": "room12",
            "from": "2027-01-05",
            "draft": True,
            "draft_name": "After the break",
            "columns": [{"day": "2", "blocks": [{"start": "08:00", "end": "09:00", "activity": "art"}]}],
        },
        {"classroom": "room12", "from": "2027-01-05", "draft": True},
    ],
    "day_changes": [
        {
            "date": "2026-09-08",
            "classrooms": ["room12"],
            "teams": ["grade5"],
            "name": "Science visit",
            "from": "09:00",
            "to": "14:00",
            "credits": [{"activity": "science", "minutes": 60}],
        },
        {"date": "2026-09-09", "name": "Boiler", "closed": True},
        {"date": "2026-09-08", "name": "Assembly", "from": "14:00", "to": "14:30"},
    ],
}


def whole() -> School:
    return copy.deepcopy(WHOLE)


def random_file(seed: int) -> School:
    return random_school(Random(seed))  # noqa: S311  # a test's school, not a secret


def write(path: Path, school: School) -> Path:
    path.write_text(json.dumps(school), encoding="utf-8")
    return path


def load(folder: Path, school: School) -> str:
    """Load a school through its command; what the command printed."""
    out = io.StringIO()
    call_command("load_school", str(write(folder / "school.json", school)), stdout=out)
    return out.getvalue()


def dump(**names: str) -> str:
    out = io.StringIO()
    call_command("dump_school", stdout=out, stderr=io.StringIO(), **names)
    return out.getvalue()


class Without:
    """Put in a key's place, it takes the key out."""


WITHOUT = Without()


def changed(school: School, changes: dict[str, Any]) -> School:
    """The school with values put at paths such as `weeks[0].from`; a list place at its end appends."""
    for path, value in changes.items():
        *above, last = [int(step) if step.isdigit() else step for step in re.findall(r"\w+", path)]
        held: Any = school
        for step in above:
            held = held[step] if isinstance(step, int) or step in held else held.setdefault(step, {})
        if value is WITHOUT:
            del held[last]
        elif isinstance(last, int) and last == len(held):
            held.append(value)
        else:
            held[last] = value
    return school
