"""Weeks that the background fits: a colleague's week taken over, one mended, or one made from nothing."""

from django.db import models
from django.db.models import Q

from scheduling.models.queued import STATE_KNOWN, UNDONE, Queued
from scheduling.models.weeks import Week
from teamroom.members.models import Classroom

KINDS = ("take over", "mend", "draft")


class Fitting(Queued):
    """A week of a classroom to be fitted for a date. `source` is the week it starts from: a colleague's, or for a
    mending the classroom's own; none for one from nothing.

    `asked` holds what is wanted of it and what was decided of an earlier proposal; `ways` what was found, the best
    first: the last one found so far while it is worked on. `stop_asked` ends the work with that.
    """

    classroom = models.ForeignKey(Classroom, on_delete=models.CASCADE, related_name="fittings")
    kind = models.CharField(max_length=10, choices=[(kind, kind) for kind in KINDS])
    source = models.ForeignKey(Week, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    starts = models.DateField()
    stop_asked = models.BooleanField(default=False)
    ways = models.JSONField(default=list)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=STATE_KNOWN, name="fitting_state_known"),
            models.CheckConstraint(condition=Q(kind__in=KINDS), name="fitting_kind_known"),
        ]
        indexes = [models.Index(fields=["asked_at"], condition=Q(state__in=UNDONE), name="fitting_undone")]

    def __str__(self) -> str:
        return f"{self.classroom}, {self.kind}: {self.state}"
