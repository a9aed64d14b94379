"""Changes of the calendar that are too big for one answer: rows are the queue, the worker takes them."""

import uuid

from django.db import models
from django.db.models import Q
from django.utils import timezone

from teamroom.dates.models import SchoolYear
from teamroom.members.models import Member

STATES = ("waiting", "working", "done", "refused")


class CalendarWork(models.Model):
    """One year's change of the calendar, asked for and to be done whole. `asked` is the change as
    its form gave it; `outcome` what it did to the readings, in figures. Changes asked for together,
    as for all schools of a district, share a `batch`."""

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="calendar_work")
    batch = models.UUIDField(default=uuid.uuid4, db_index=True)
    asked = models.JSONField()
    asked_by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    asked_at = models.DateTimeField(default=timezone.now)
    state = models.CharField(max_length=10, default="waiting", choices=[(state, state) for state in STATES])
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    outcome = models.JSONField(null=True, blank=True)
    fault = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(state__in=STATES), name="calendar_work_state_known")]

    def __str__(self) -> str:
        return f"{self.year}: {self.state}"
