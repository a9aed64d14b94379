"""Weeks out of spreadsheets: what was sent is kept for its sender alone, and becomes a draft whole or not at all.

The caller has the classroom from `access`, inside the same transaction; for a draft locked and its year held.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from django.db import transaction
from django.utils import timezone

from scheduling.models import SentSheet, Week, WrittenName
from scheduling.selectors.year_inputs import year_inputs
from scheduling.services import block_writing as writing
from scheduling.services.block_writing import Placing
from scheduling.services.week_records import record
from scheduling.services.week_versions import changed
from scheduling.spreadsheets.reading import ReadFile
from scheduling.spreadsheets.sheet import plain_sheet
from teamroom.common.clock import said_span
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import School
from teamroom.dates.services import check_in_year
from teamroom.members.models import Classroom, Member

KEPT_FOR = dt.timedelta(days=1)
LONGEST_NAME = 120


@dataclass(frozen=True)
class SheetWeek:
    """What a sheet makes of a week: its blocks, and what written names were said to mean (keys by folded name, ''
    for a name that is left out)."""

    placings: Sequence[Placing]
    names: Mapping[str, str]


@transaction.atomic(savepoint=False)
def keep_sent(classroom: Classroom, read: ReadFile, *, member: Member, file_name: str) -> SentSheet:
    """Keep what a member sent until they say yes; what they sent for this classroom before gives way."""
    SentSheet.objects.filter(classroom=classroom, member=member).delete()
    return SentSheet.objects.create(
        classroom=classroom,
        member=member,
        file_name=file_name[-LONGEST_NAME:],
        sheets=[plain_sheet(sheet) for sheet in read.sheets],
        said=list(read.said),
    )


@transaction.atomic(savepoint=False)
def draft_from_sheet(sent: SentSheet, told: SheetWeek, *, starts: dt.date, member: Member, name: str = "") -> Week:
    """A draft of the classroom's week with a sheet's blocks; the names are remembered, the sheet is not.

    RuleBroken, and nothing is written, for a date outside the year, no block, or one that could not be.
    """
    classroom = sent.classroom
    check_in_year(classroom.year, starts, field="starts")
    if not told.placings:
        raise RuleBroken("There is no block left: choose an activity for at least one name.")
    week = Week(classroom=classroom, starts=starts, draft=True, draft_name=name.strip(), drafted_by=member)
    inputs = year_inputs(classroom.year)
    for placing in told.placings:
        writing.check_placing(week, placing, inputs)
    _check_apart(told.placings)
    week.save()
    for placing in told.placings:
        column, _ = writing.column_for(week, placing.day, placing.kind)
        writing.put_block(column, placing, pk=None, revision=1)
    record([week], "import", f"Read from the spreadsheet {sent.file_name}", member=member)
    remember(classroom.year.school, told.names)
    sent.delete()
    changed(classroom, counts=False)
    return week


def remember(school: School, names: Mapping[str, str]) -> None:
    """Keep what written names mean at a school; in one order, so that two who do it at once wait and do not lock."""
    WrittenName.objects.bulk_create(
        [WrittenName(school=school, written=written, activity=key) for written, key in sorted(names.items())],
        update_conflicts=True,
        unique_fields=["school", "written"],
        update_fields=["activity"],
    )


def clear_sent() -> None:
    """Sheets that nobody said yes to in a day go."""
    SentSheet.objects.filter(sent_at__lt=timezone.now() - KEPT_FOR).delete()


def _check_apart(placings: Sequence[Placing]) -> None:
    told = sorted(placings, key=lambda one: (one.day, one.kind, one.start))
    for one, other in pairwise(told):
        if (one.day, one.kind) == (other.day, other.kind) and other.start < one.end:
            both = f"{said_span(one.start, one.end)} and {said_span(other.start, other.end)}"
            raise RuleBroken(f"Two blocks of one day overlap, {both}: mend one of them in the file.")
