"""Work that waits for the background: rows are the queue, workers take them up by a conditional update."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from teamroom.members.models import Member

STATES = ("waiting", "working", "done", "refused")
UNDONE = ("waiting", "working")
STATE_KNOWN = Q(state__in=STATES)


class Queued(models.Model):
    """Something asked for that takes longer than an answer.

    `taken` counts the takings up: a worker that was killed is not heard from (`heard_at`), and the
    next takes the row up again. `started_at` tells one taking from another.
    """

    asked = models.JSONField()
    asked_by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    asked_at = models.DateTimeField(default=timezone.now)
    state = models.CharField(max_length=10, default="waiting", choices=[(state, state) for state in STATES])
    taken = models.PositiveSmallIntegerField(default=0)
    started_at = models.DateTimeField(null=True, blank=True)
    heard_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    fault = models.CharField(max_length=500, blank=True)

    class Meta:
        abstract = True

    @property
    def is_undone(self) -> bool:
        return self.state in UNDONE
