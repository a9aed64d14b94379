"""Changes of the calendar that are too big for one answer: rows are the queue, the worker takes them."""

import uuid

from django.db import models
from django.db.models import Q
from django.utils import timezone

from teamroom.dates.models import SchoolYear
from teamroom.members.models import Member

STATES = ("waiting", "working", "done", "refused")
UNDONE = ("waiting", "working")


class CalendarWork(models.Model):
    """One year's change of the calendar, tried out or to be done whole. `asked` is the deed with
    what its yes rests on; `outcome` what it does to the readings, in words and figures. Deeds asked
    for together, as for all schools of a district, share a `batch`.

    `taken` counts the takings up: a worker that was killed is not heard from (`heard_at`), and the
    next takes the row up again. `started_at` tells one taking from another.
    """

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="calendar_work")
    batch = models.UUIDField(default=uuid.uuid4, db_index=True)
    asked = models.JSONField()
    asked_by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    asked_at = models.DateTimeField(default=timezone.now)
    state = models.CharField(max_length=10, default="waiting", choices=[(state, state) for state in STATES])
    taken = models.PositiveSmallIntegerField(default=0)
    started_at = models.DateTimeField(null=True, blank=True)
    heard_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    classrooms = models.PositiveIntegerField(default=0)
    classrooms_done = models.PositiveIntegerField(default=0)
    outcome = models.JSONField(null=True, blank=True)
    fault = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(state__in=STATES), name="calendar_work_state_known")]
        indexes = [models.Index(fields=["asked_at"], condition=Q(state__in=UNDONE), name="calendar_work_undone")]

    def __str__(self) -> str:
        return f"{self.year}: {self.state}"
