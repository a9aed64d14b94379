"""Classrooms' plans out of the database, for the counting: six queries, however many classrooms."""

from collections import defaultdict
from collections.abc import Collection, Mapping

from scheduling.minutes.plan import Block, ClassroomPlan, Column, Credit, DayChange, Version
from scheduling.models import Block as BlockRow
from scheduling.models import BlockCredit, DayChangeCredit, DayChangeReach, Week
from scheduling.models import Column as ColumnRow
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
    columns: dict[int, list[Column]] = defaultdict(list)
    blocks = _blocks(inputs, ids)
    rows = ColumnRow.objects.filter(week__classroom__in=ids).order_by("pk")
    for pk, week, day, kind in rows.values_list("pk", "week_id", "day", "kind_id"):
        column = Column(day or None, inputs.day_kinds[kind], tuple(blocks.get(pk, ())))
        columns[week].append(column)
    versions: dict[int, list[Version]] = defaultdict(list)
    weeks = Week.objects.filter(classroom__in=ids).order_by("starts")
    for pk, classroom, starts in weeks.values_list("pk", "classroom_id", "starts"):
        versions[classroom].append(Version(starts, tuple(columns.get(pk, ()))))
    return versions


def _blocks(inputs: YearInputs, ids: Collection[int]) -> Mapping[int, list[Block]]:
    credits: dict[int, list[Credit]] = defaultdict(list)
    credit_rows = BlockCredit.objects.filter(block__column__week__classroom__in=ids)
    for block, activity, minutes in credit_rows.order_by("block", "place").values_list(
        "block_id", "activity_id", "minutes"
    ):
        credits[block].append(Credit(inputs.activities[activity], minutes))
    blocks: dict[int, list[Block]] = defaultdict(list)
    rows = BlockRow.objects.filter(column__week__classroom__in=ids).order_by("start")
    for pk, column, start, end, activity in rows.values_list("pk", "column_id", "start", "end", "activity_id"):
        shares = tuple(credits.get(pk, ()))
        blocks[column].append(Block(start, end, inputs.activities[activity], shares, pk))
    return blocks


def _changes(inputs: YearInputs, ids: Collection[int]) -> Mapping[int, list[DayChange]]:
    credits: dict[int, list[Credit]] = defaultdict(list)
    credit_rows = DayChangeCredit.objects.filter(day_change__reach__classroom__in=ids)
    for change, activity, minutes in (
        credit_rows.order_by("day_change", "place").distinct().values_list("day_change_id", "activity_id", "minutes")
    ):
        credits[change].append(Credit(inputs.activities[activity], minutes))
    changes: dict[int, list[DayChange]] = defaultdict(list)
    rows = DayChangeReach.objects.filter(classroom__in=ids).order_by("date", "start")
    for classroom, pk, name, closed, date, start, end in rows.values_list(
        "classroom_id", "day_change_id", "day_change__name", "day_change__closed", "date", "start", "end"
    ):
        changes[classroom].append(DayChange(date, name, closed, start, end, tuple(credits.get(pk, ()))))
    return changes
