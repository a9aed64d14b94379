"""A classroom's weekly block schedule: its versions, their columns and blocks, and their history."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from scheduling.models.school_times import Activity
from teamroom.common.fields import ClockField
from teamroom.common.ranges import MinuteRange, no_overlap
from teamroom.dates.models import DayKind
from teamroom.members.models import Classroom


class Week(models.Model):
    """A classroom's week in effect from a date until the next one. `revision` rises with each
    edit, so that a page knows whether what it shows is still so."""

    classroom = models.ForeignKey(Classroom, on_delete=models.CASCADE, related_name="weeks")
    starts = models.DateField()
    revision = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["classroom", "starts"],
                name="one_week_from_a_date",
                violation_error_message="Another week of this classroom starts on that date.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.classroom} from {self.starts:%Y-%m-%d}"


class Column(models.Model):
    """A day of a week: of one cycle day and kind, or (without a day) the kind's own."""

    week = models.ForeignKey(Week, on_delete=models.CASCADE, related_name="columns")
    day = models.CharField(max_length=8, blank=True)
    kind = models.ForeignKey(DayKind, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["week", "day", "kind"], name="one_column_a_day_and_kind")]

    def __str__(self) -> str:
        return f"{self.day} {self.kind}".strip()


class Block(models.Model):
    """A stretch of a day given to an activity, with the reason why it sits there. With credits
    the activity is only its label. `revision` is the week's as of the block's latest edit."""

    column = models.ForeignKey(Column, on_delete=models.CASCADE, related_name="blocks")
    start = ClockField()
    end = ClockField()
    activity = models.ForeignKey(Activity, on_delete=models.PROTECT, related_name="+")
    why = models.TextField(blank=True)
    revision = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(start__lt=F("end")) & Q(end__lte=1440),
                name="block_runs_forward",
                violation_error_message="Give the block an end after its start.",
            ),
            # Deferred, so that two blocks can change places in one transaction.
            no_overlap(
                "column",
                span=MinuteRange("start", "end"),
                name="blocks_do_not_overlap",
                message="Another block already takes some of this time.",
                deferred=True,
            ),
        ]

    def __str__(self) -> str:
        return f"{self.activity} {self.start}-{self.end}"


class BlockCredit(models.Model):
    """Minutes an integrated block credits to one activity. A trigger of the database holds their
    sum within the block's length."""

    block = models.ForeignKey(Block, on_delete=models.CASCADE, related_name="credits")
    place = models.PositiveSmallIntegerField()
    activity = models.ForeignKey(Activity, on_delete=models.PROTECT, related_name="+")
    minutes = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["place"]
        constraints = [
            models.UniqueConstraint(fields=["block", "activity"], name="one_credit_an_activity"),
            models.UniqueConstraint(fields=["block", "place"], name="one_credit_a_place"),
            models.CheckConstraint(condition=Q(minutes__gte=1), name="credit_of_a_minute_or_more"),
        ]

    def __str__(self) -> str:
        return f"{self.activity} {self.minutes}"


class WeekChange(models.Model):
    """One edit of a week: who, when, and the blocks before and after. Undoing it is its inverse."""

    week = models.ForeignKey(Week, on_delete=models.CASCADE, related_name="changes")
    revision = models.PositiveIntegerField()
    member = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    deed = models.CharField(max_length=20)
    summary = models.CharField(max_length=200)
    before = models.JSONField()
    after = models.JSONField()
    undoes = models.OneToOneField("self", on_delete=models.CASCADE, null=True, blank=True, related_name="undone_by")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["week", "revision"], name="one_change_a_revision")]

    def __str__(self) -> str:
        return self.summary
