"""The versions of a classroom's week: each in effect from a date until the next.

The caller has the week or classroom from `access`, inside the same transaction, locked and its
year held.
"""

import datetime as dt

from django.db import transaction

from scheduling.models import Week
from scheduling.services import block_writing as writing
from scheduling.services.block_writing import placing_of
from scheduling.services.compliance import ReadingChanges, recompute
from scheduling.services.week_records import note, record
from teamroom.common.errors import RuleBroken
from teamroom.common.live.announcing import announce, classroom_topic
from teamroom.common.wording import full_date
from teamroom.dates.services import check_in_year
from teamroom.members.models import Classroom, Member


@transaction.atomic(savepoint=False)
def begin_week(classroom: Classroom, *, starts: dt.date) -> Week:
    """A classroom's first week, empty. RuleBroken if it has one: `start_week` copies that."""
    if Week.objects.filter(classroom=classroom, draft=False).exists():
        raise RuleBroken("This classroom has a week already: start a new version from it.", field="starts")
    check_start(classroom, starts)
    week = Week.objects.create(classroom=classroom, starts=starts)
    recompute(classroom.year, classrooms=[classroom])
    announce(classroom_topic(classroom.pk))
    return week


@transaction.atomic(savepoint=False)
def start_week(week: Week, *, starts: dt.date, member: Member | None = None) -> tuple[Week, ReadingChanges]:
    """A copy of the week in effect from another date on, to be changed without touching the past."""
    check_start(week.classroom, starts)
    copy = copy_of(week, Week(classroom=week.classroom, starts=starts), member)
    return copy, changed(week.classroom)


def copy_of(week: Week, copy: Week, member: Member | None) -> Week:
    """Save a week with all that another holds, and the record its history begins with."""
    copy.save()
    for column in week.columns.order_by("pk").prefetch_related("blocks__credits", "blocks__uses"):
        column_copy, _ = writing.column_for(copy, column.day, column.kind_id)
        for block in column.blocks.all():
            block.column = column
            writing.put_block(column_copy, placing_of(block), pk=None, revision=1)
    record([copy], "copy", f"Copied from the week from {full_date(week.starts)}", member=member)
    return copy


@transaction.atomic(savepoint=False)
def move_start(week: Week, *, starts: dt.date, member: Member) -> ReadingChanges:
    """Put the week in effect from another date; of a draft, the date it is meant for."""
    if week.draft:
        check_in_year(week.classroom.year, starts, field="starts")
    else:
        check_start(week.classroom, starts)
    week.starts = starts
    week.save(update_fields=["starts"])
    note(week, "dated", member)
    return changed(week.classroom, counts=not week.draft)


def changed(classroom: Classroom, *, counts: bool = True) -> ReadingChanges:
    """What follows once a classroom's versions are others: readings, unless only a draft is, and the news."""
    changes = recompute(classroom.year, classrooms=[classroom]) if counts else ReadingChanges()
    announce(classroom_topic(classroom.pk))
    return changes


def check_start(classroom: Classroom, starts: dt.date) -> None:
    """RuleBroken unless a version can take effect on a date."""
    check_in_year(classroom.year, starts, field="starts")
    if Week.objects.filter(classroom=classroom, starts=starts, draft=False).exists():
        raise RuleBroken("Another week of this classroom starts on that date.", field="starts")
