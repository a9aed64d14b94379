"""The first week of a classroom: an empty sheet to begin on."""

import datetime as dt

from django.db import transaction

from scheduling.models import Week
from scheduling.services.compliance import recompute
from teamroom.common.errors import RuleBroken
from teamroom.common.live import announce
from teamroom.members.models import Classroom


@transaction.atomic
def begin_week(classroom: Classroom, *, starts: dt.date) -> Week:
    """An empty week in effect from a date of the school year; `classroom` is from `access.classroom_for_editing`.

    Raises RuleBroken outside the year, or where the classroom has a week: `start_week` copies that.
    """
    year = classroom.year
    if Week.objects.filter(classroom=classroom).exists():
        raise RuleBroken("This classroom has a week already: start a new version from it.", field="starts")
    if not year.first_day <= starts <= year.last_day:
        raise RuleBroken("Choose a date in this school year.", field="starts")
    week = Week.objects.create(classroom=classroom, starts=starts)
    announce(f"classroom-{classroom.pk}", week.pk)
    recompute(year, classrooms=[classroom])
    return week
