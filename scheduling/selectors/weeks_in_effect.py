"""Which week each of some classrooms has in effect on a date."""

import datetime as dt

from django.db.models import QuerySet

from scheduling.models import Week
from teamroom.members.models import Classroom


def weeks_in_effect(classrooms: QuerySet[Classroom], on: dt.date) -> QuerySet[Week]:
    """The one version of each classroom that has begun by a date and has no later one by then; a draft is none."""
    begun = Week.objects.filter(classroom__in=classrooms, draft=False, starts__lte=on)
    return begun.order_by("classroom", "-starts").distinct("classroom")
