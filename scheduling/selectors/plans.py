"""Classrooms' plans out of the database, for the counting: two queries, however many classrooms.

They are written in SQL because every edit asks them and building them from models took six times
as long as the database needs to answer; the tests hold the names to the models' tables.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from django.db import connection

from scheduling.minutes.plan import Block, ClassroomPlan, Column, Credit, DayChange, Version
from scheduling.models import Week
from scheduling.selectors.year_inputs import YearInputs
from teamroom.members.models import Classroom

# One row a block, and one for a column or week that has none.
ROWS = """
    SELECT week.classroom_id, week.id, week.starts, col.id, col.day, col.kind_id,
        block.id, block.start, block."end", block.activity_id,
        ARRAY(
            SELECT ARRAY[credit.activity_id, credit.minutes] FROM scheduling_blockcredit credit
            WHERE credit.block_id = block.id ORDER BY credit.place
        )
    FROM scheduling_week week
    LEFT JOIN scheduling_column col ON col.week_id = week.id
    LEFT JOIN scheduling_block block ON block.column_id = col.id
"""
IN_ORDER = "ORDER BY week.starts, col.id, block.start"
WEEKS = f"{ROWS} WHERE week.classroom_id = ANY(%s) AND NOT week.draft {IN_ORDER}"
ONE_WEEK = f"{ROWS} WHERE week.id = ANY(%s) {IN_ORDER}"
CHANGES = """
    SELECT reach.classroom_id, change.name, change.closed, reach.date, reach.start, reach."end",
        ARRAY(
            SELECT ARRAY[credit.activity_id, credit.minutes] FROM scheduling_daychangecredit credit
            WHERE credit.day_change_id = change.id ORDER BY credit.place
        )
    FROM scheduling_daychangereach reach
    JOIN scheduling_daychange change ON change.id = reach.day_change_id
    WHERE reach.classroom_id = ANY(%s)
    ORDER BY reach.date, reach.start
"""


def plans_of(inputs: YearInputs, classrooms: Collection[Classroom]) -> dict[int, ClassroomPlan]:
    """Each classroom's plan by its id. All must belong to the inputs' year."""
    ids = [classroom.pk for classroom in classrooms]
    return plans_from(inputs, classrooms, versions_of(inputs, ids), changes_of(inputs, ids))


def plans_from(
    inputs: YearInputs,
    classrooms: Collection[Classroom],
    versions: Mapping[int, Sequence[Version]],
    changes: Mapping[int, Sequence[DayChange]],
) -> dict[int, ClassroomPlan]:
    """Plans put together from what `versions_of` and `changes_of` gave."""
    return {
        classroom.pk: ClassroomPlan(
            grades=tuple(classroom.grades),
            versions=tuple(versions.get(classroom.pk, ())),
            bells=inputs.bells.get(classroom.grades[0], {}),
            changes=tuple(changes.get(classroom.pk, ())),
        )
        for classroom in classrooms
    }


def plan_with(inputs: YearInputs, draft: Week) -> ClassroomPlan:
    """A classroom's plan as it would be with a draft in effect, in the place of a version from its date."""
    plan = plans_of(inputs, [draft.classroom])[draft.classroom_id]
    ((version,),) = _versions(inputs, ONE_WEEK, [draft.pk]).values()
    others = (one for one in plan.versions if one.starts != version.starts)
    return replace(plan, versions=tuple(sorted([*others, version], key=lambda one: one.starts)))


def alone(inputs: YearInputs, week: Week) -> ClassroomPlan:
    """A classroom's plan as it would be with one week, draft or not, in effect all year."""
    room = week.classroom
    ((version,),) = _versions(inputs, ONE_WEEK, [week.pk]).values()
    all_year = {room.pk: [replace(version, starts=dt.date.min)]}
    return plans_from(inputs, [room], all_year, changes_of(inputs, [room.pk]))[room.pk]


def versions_of(inputs: YearInputs, ids: Collection[int]) -> Mapping[int, list[Version]]:
    """The versions of classrooms' weeks, by the classroom's id; drafts are none."""
    return _versions(inputs, WEEKS, ids)


def _versions(inputs: YearInputs, sql: str, ids: Collection[int]) -> Mapping[int, list[Version]]:
    blocks: dict[int, list[Block]] = defaultdict(list)
    columns: dict[int, dict[int, tuple[str, int]]] = defaultdict(dict)
    weeks: dict[int, tuple[int, dt.date]] = {}
    for classroom, week, starts, column, day, kind, block, start, end, activity, credits in _asked(sql, ids):
        weeks[week] = (classroom, starts)
        if column is not None:
            columns[week][column] = (day, kind)
        if block is not None:
            shares = _credits(inputs, credits)
            blocks[column].append(Block(start, end, inputs.activities[activity], shares, block))
    versions: dict[int, list[Version]] = defaultdict(list)
    for week, (classroom, starts) in weeks.items():
        held = tuple(
            Column(day or None, inputs.day_kinds[kind], tuple(blocks.get(column, ())))
            for column, (day, kind) in columns[week].items()
        )
        versions[classroom].append(Version(starts, held))
    return versions


def changes_of(inputs: YearInputs, ids: Collection[int]) -> Mapping[int, list[DayChange]]:
    """The day changes that reach classrooms, by the classroom's id."""
    changes: dict[int, list[DayChange]] = defaultdict(list)
    for classroom, name, closed, date, start, end, credits in _asked(CHANGES, ids):
        changes[classroom].append(DayChange(date, name, closed, start, end, _credits(inputs, credits)))
    return changes


def _credits(inputs: YearInputs, rows: Iterable[tuple[int, int]]) -> tuple[Credit, ...]:
    return tuple([Credit(inputs.activities[activity], minutes) for activity, minutes in rows])


def _asked(sql: str, ids: Collection[int]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, [list(ids)])
        return list(cursor.fetchall())
