"""Changes of the calendar that are too big for one answer: rows are the queue, the worker takes them."""

import uuid

from django.db import models
from django.db.models import Q

from scheduling.models.queued import STATE_KNOWN, UNDONE, Queued
from teamroom.dates.models import SchoolYear


class CalendarWork(Queued):
    """One year's change of the calendar, tried out or to be done whole. `asked` is the deed with
    what its yes rests on; `outcome` what it does to the readings, in words and figures. Deeds asked
    for together, as for all schools of a district, share a `batch`.
    """

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="calendar_work")
    batch = models.UUIDField(default=uuid.uuid4, db_index=True)
    classrooms = models.PositiveIntegerField(default=0)
    classrooms_done = models.PositiveIntegerField(default=0)
    outcome = models.JSONField(null=True, blank=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=STATE_KNOWN, name="calendar_work_state_known")]
        indexes = [models.Index(fields=["asked_at"], condition=Q(state__in=UNDONE), name="calendar_work_undone")]

    def __str__(self) -> str:
        return f"{self.year}: {self.state}"
