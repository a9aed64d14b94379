"""A cold audit of 1,000 classrooms, against a plain GROUP BY and the tests' naive counter."""

import time
from datetime import date
from typing import Any

from django.db import connection

from scheduling.minutes.readings import ClassroomYear
from scheduling.selectors.plans import plans_of
from scheduling.selectors.year_inputs import load_year_inputs
from teamroom.dates.models import SchoolYear
from teamroom.school_file.loading import load
from tests.bench.engine import judged
from tests.bench.measures import Line, median_ms
from tests.bench.school import school_of
from tests.minutes.naive.counter import naive_readings

CLASSROOMS = 1000
COUNTED_NAIVELY = 3
GROUP_BY = """
    SELECT week.classroom_id, block.activity_id, sum(block."end" - block.start)
    FROM scheduling_block block
    JOIN scheduling_column col ON col.id = block.column_id
    JOIN scheduling_week week ON week.id = col.week_id
    JOIN members_classroom room ON room.id = week.classroom_id
    WHERE room.year_id = %s
    GROUP BY week.classroom_id, block.activity_id
"""
STORED = """
    SELECT classroom_id, rule_id, grade, part, status, required, planned, margin, short_windows
    FROM scheduling_reading JOIN members_classroom room ON room.id = classroom_id
    WHERE room.year_id = %s
"""


def run() -> list[Line]:
    school = school_of(CLASSROOMS, seed=2)
    year = load({**school, "school": {**school["school"], "name": "Audited school"}}).year
    loading, engine = _cold_audit(year)
    grouped = median_ms(lambda: _rows(GROUP_BY, year), times=15)
    stored = median_ms(lambda: _rows(STORED, year), times=15)
    naive = _naive_per_classroom(school) * CLASSROOMS
    return [
        Line("year", f"cold audit of {CLASSROOMS} classrooms: blocks out of the database", loading),
        Line("year", f"cold audit of {CLASSROOMS} classrooms: engine", engine, engine / grouped, "a plain GROUP BY"),
        Line("year", "  plain GROUP BY over the same blocks", grouped),
        Line(
            "year", f"  naive counter, {COUNTED_NAIVELY} classrooms counted and scaled", naive, naive / engine, "engine"
        ),
        Line("year", "stored readings of the same, one query", stored, stored / grouped, "a plain GROUP BY"),
    ]


def _cold_audit(year: SchoolYear) -> tuple[float, float]:
    """Milliseconds of reading and of counting, the better of three runs; nothing kept between."""
    best_loading = best_engine = float("inf")
    for _ in range(3):
        start = time.perf_counter()
        inputs = load_year_inputs(year)
        plans = plans_of(inputs, list(year.classrooms.all()))
        read = time.perf_counter()
        rules = list(inputs.rules.values())
        verdicts = sum(judged(ClassroomYear(inputs.year, plan), rules) for plan in plans.values())
        counted = time.perf_counter()
        if verdicts != CLASSROOMS * len(rules):
            raise AssertionError("not every classroom was audited")
        best_loading = min(best_loading, (read - start) * 1000)
        best_engine = min(best_engine, (counted - read) * 1000)
    return best_loading, best_engine


def _rows(sql: str, year: SchoolYear) -> list[Any]:
    with connection.cursor() as cursor:
        cursor.execute(sql, [year.pk])
        return list(cursor.fetchall())


def _naive_per_classroom(school: dict[str, Any]) -> float:
    keys = {room["key"] for room in school["classrooms"][:COUNTED_NAIVELY]}
    few = {
        **school,
        "classrooms": school["classrooms"][:COUNTED_NAIVELY],
        "weeks": [week for week in school["weeks"] if week["classroom"] in keys],
    }
    start = time.perf_counter()
    naive_readings(few, date(2027, 1, 4), "worst")
    return (time.perf_counter() - start) * 1000 / COUNTED_NAIVELY
