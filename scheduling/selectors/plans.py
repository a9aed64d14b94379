"""Classrooms' plans out of the database, for the counting: four queries, however many classrooms."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping

from scheduling.minutes.plan import Block, ClassroomPlan, Column, Credit, DayChange, Version
from scheduling.models import BlockCredit, DayChangeCredit, DayChangeReach, Week
from scheduling.selectors.year_inputs import YearInputs
from teamroom.members.models import Classroom


def plans_of(inputs: YearInputs, classrooms: Collection[Classroom]) -> dict[int, ClassroomPlan]:
    """Each classroom's plan by its id. All must belong to the inputs' year."""
    ids = [classroom.pk for classroom in classrooms]
    versions = _versions(inputs, ids)
    changes = _changes(inputs, ids)
    return {
        classroom.pk: ClassroomPlan(
            grades=tuple(classroom.grades),
            versions=tuple(versions.get(classroom.pk, ())),
            bells=inputs.bells.get(classroom.grades[0], {}),
            changes=tuple(changes.get(classroom.pk, ())),
        )
        for classroom in classrooms
    }


def _versions(inputs: YearInputs, ids: Collection[int]) -> Mapping[int, list[Version]]:
    """Every version of the classrooms' weeks: one row a block, and a row for what has none."""
    credits = _block_credits(inputs, ids)
    blocks: dict[int | None, list[Block]] = {}
    columns: dict[int | None, dict[int, tuple[str, int]]] = {}
    weeks: dict[int, tuple[int, dt.date]] = {}
    rows = Week.objects.filter(classroom__in=ids).order_by("starts", "columns__pk", "columns__blocks__start")
    for week, classroom, starts, column, day, kind, block, start, end, activity in rows.values_list(
        "pk",
        "classroom_id",
        "starts",
        "columns__pk",
        "columns__day",
        "columns__kind_id",
        *(f"columns__blocks__{name}" for name in ("pk", "start", "end", "activity_id")),
    ):
        weeks[week] = (classroom, starts)
        if column is not None:
            columns.setdefault(week, {})[column] = (day, kind)
        if block is not None:
            shares = credits.get(block, ())
            blocks.setdefault(column, []).append(Block(start, end, inputs.activities[activity], shares, block))
    versions: dict[int, list[Version]] = defaultdict(list)
    for week, (classroom, starts) in weeks.items():
        held = tuple(
            Column(day or None, inputs.day_kinds[kind], tuple(blocks.get(column, ())))
            for column, (day, kind) in columns.get(week, {}).items()
        )
        versions[classroom].append(Version(starts, held))
    return versions


def _block_credits(inputs: YearInputs, ids: Collection[int]) -> Mapping[int, tuple[Credit, ...]]:
    rows = BlockCredit.objects.filter(block__column__week__classroom__in=ids).order_by("block", "place")
    return _credits(inputs, rows.values_list("block_id", "activity_id", "minutes"))


def _credits(inputs: YearInputs, rows: Iterable[tuple[int, int, int]]) -> dict[int, tuple[Credit, ...]]:
    """Credits by what they belong to, in the order of the rows."""
    found: dict[int, tuple[Credit, ...]] = {}
    for owner, activity, minutes in rows:
        found[owner] = (*found.get(owner, ()), Credit(inputs.activities[activity], minutes))
    return found


def _changes(inputs: YearInputs, ids: Collection[int]) -> Mapping[int, list[DayChange]]:
    rows = list(
        DayChangeReach.objects.filter(classroom__in=ids)
        .order_by("date", "start")
        .values_list("classroom_id", "day_change_id", "day_change__name", "day_change__closed", "date", "start", "end")
    )
    # Most classrooms have no day change at all, and then there is nothing to ask for.
    credit_rows = DayChangeCredit.objects.filter(day_change__in={row[1] for row in rows}).order_by(
        "day_change", "place"
    )
    credits = _credits(inputs, credit_rows.values_list("day_change_id", "activity_id", "minutes"))
    changes: dict[int, list[DayChange]] = defaultdict(list)
    for classroom, pk, name, closed, date, start, end in rows:
        changes[classroom].append(DayChange(date, name, closed, start, end, credits.get(pk, ())))
    return changes
