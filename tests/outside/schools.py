"""Small real school years as school files, for checks against published figures.

A year's last day is found by numpy's business-day functions, which know nothing of ours; the
number of school days that the readings then rest on is counted by the project's own calendar.
"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from scheduling.minutes.definitions import activities_named, body_of
from scheduling.rule_library.library import all_rules
from teamroom.school_file.checking import sound_document
from tests.minutes.adapter import engine_readings

School = dict[str, Any]
Reading = dict[str, Any]
DAYS = ("mon", "tue", "wed", "thu", "fri")

# An invented calendar of 180 school days; two independent programs agreed on its count.
FIRST_DAY = "2026-09-08"
CLOSED = (
    ("2026-10-12", "2026-10-12"),
    ("2026-11-11", "2026-11-11"),
    ("2026-11-25", "2026-11-27"),
    ("2026-12-21", "2027-01-01"),
    ("2027-01-18", "2027-01-18"),
    ("2027-02-15", "2027-02-15"),
    ("2027-04-05", "2027-04-09"),
    ("2027-05-31", "2027-05-31"),
    ("2027-06-18", "2027-06-18"),
)


def closed_dates(spans: Iterable[tuple[str, str]]) -> list[np.datetime64]:
    """Every date of the spans, both ends included."""
    return [date for first, last in spans for date in np.arange(first, np.datetime64(last) + 1, dtype="datetime64[D]")]


def year_of(days: int, first_day: str = FIRST_DAY, closed: Sequence[tuple[str, str]] = CLOSED) -> dict[str, Any]:
    """A school year that ends with its `days`-th school day."""
    last = np.busday_offset(first_day, days - 1, roll="forward", holidays=closed_dates(closed))
    return {
        "name": "the year",
        "first_day": first_day,
        "last_day": str(last),
        "closed": [
            {"from": start, "to": end, "name": "closed"}
            for start, end in closed
            if first_day <= start and end <= str(last)
        ],
    }


def one_week(first_day: str = "2026-09-14") -> dict[str, Any]:
    """Monday to Friday without a closure."""
    return year_of(5, first_day)


def clock(minutes: int) -> str:
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def at(written: str) -> int:
    hours, minutes = written.split(":")
    return int(hours) * 60 + int(minutes)


def blocks(*asked: tuple[str, int], start: str = "08:00") -> list[dict[str, Any]]:
    """Blocks one after the other; those of no minutes are left out."""
    now, row = at(start), []
    for activity, minutes in asked:
        if minutes:
            row.append({"start": clock(now), "end": clock(now + minutes), "activity": activity})
        now += minutes
    return row


def around(start: str, end: str, *holes: tuple[str, str], activity: str = "english") -> list[dict[str, Any]]:
    """Blocks of one activity from start to end that leave the holes free."""
    edges = [start, *(edge for hole in holes for edge in hole), end]
    return [{"start": a, "end": b, "activity": activity} for a, b in zip(edges[::2], edges[1::2], strict=True) if a < b]


def every_day(row: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Columns that plan the same blocks Monday to Friday."""
    return [{"day": day, "blocks": row} for day in DAYS]


def library_rules(*keys: str) -> list[dict[str, Any]]:
    """Published rules by their keys, as a school file writes them."""
    kept = {rule.key: rule.as_school_file() for rule in all_rules()}
    return [kept[key] for key in keys]


def school(
    year: Mapping[str, Any],
    grade: str,
    columns: Sequence[Mapping[str, Any]],
    rules: Sequence[Mapping[str, Any]],
    **more: Any,
) -> School:
    """A school of one classroom, whose week holds from the first day of the year."""
    return {
        "format": "teamroom school file",
        "version": 1,
        "school": {"name": "Hilltop", "time_zone": "America/Denver"},
        "year": dict(year),
        "activities": [{"key": key, "name": key} for key in activities_in(columns, rules, more)],
        "rules": list(rules),
        "teams": [{"key": "team", "name": "The team", "grades": [grade]}],
        "classrooms": [{"key": "room", "team": "team", "grades": [grade]}],
        "weeks": [{"classroom": "room", "from": year["first_day"], "columns": list(columns)}],
        **more,
    }


def activities_in(columns: Sequence[Mapping[str, Any]], rules: Sequence[Mapping[str, Any]], more: Any) -> list[str]:
    named = {block["activity"] for column in columns for block in column["blocks"]}
    named |= {activity for rule in rules for _, activity in activities_named(body_of(rule))}
    named |= {fixed["activity"] for bell in more.get("bell_schedules", ()) for fixed in bell.get("fixed", ())}
    return sorted(named)


def offering(minutes: int, days: int, grade: str, rules: Sequence[Mapping[str, Any]], **more: Any) -> School:
    """A school whose class is taught `minutes` in a year of `days` days.

    Each day has the same length; what is too much in all is taken out of the first day by a day
    change that credits nothing, so the total is hit to the minute.
    """
    year = more.pop("year", None) or year_of(days)
    each = -(-minutes // days)
    over = each * days - minutes
    changes = [lost(year["first_day"], over)] if over else []
    return school(year, grade, every_day(blocks(("english", each))), rules, day_changes=changes, **more)


def lost(date: str, minutes: int, start: str = "08:00") -> dict[str, Any]:
    """A day change that takes minutes from the start of a day and credits nothing."""
    return {"date": date, "name": "lost time", "from": start, "to": clock(at(start) + minutes)}


def read(of: School, rule: str, part: int | None = 0, windows: str = "worst") -> Reading:
    """The one reading of a rule's part (None: its verdict), as of the year's first day."""
    (reading,) = read_all(of, rule, part, windows)
    return reading


def read_all(of: School, rule: str, part: int | None = 0, windows: str = "all") -> list[Reading]:
    return [reading for reading in readings_of(of, windows) if (reading["rule"], reading["part"]) == (rule, part)]


def statuses(of: School) -> dict[str, str]:
    """The verdict on every rule."""
    return {reading["rule"]: reading["status"] for reading in readings_of(of, "worst") if reading["part"] is None}


def readings_of(of: School, windows: str) -> list[Reading]:
    """All readings as of the year's first day. Raises FileRefused unless the school file is sound."""
    return engine_readings(sound_document(of), dt.date.fromisoformat(of["year"]["first_day"]), windows)
