"""A classroom's weekly block schedule: its versions, their columns and blocks, and their history."""

from collections.abc import Sequence

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from scheduling.models.school_times import Activity
from teamroom.common.fields import ClockField
from teamroom.common.ranges import MinuteRange, no_overlap
from teamroom.dates.models import DayKind
from teamroom.members.models import Classroom, Team


class Week(models.Model):
    """A classroom's week in effect from a date until the next one, or a draft of one.

    A draft is prepared for its date and counts for nothing until it is put in effect. `revision`
    rises with each edit, so that a page knows whether what it shows is still so.
    """

    classroom = models.ForeignKey(Classroom, on_delete=models.CASCADE, related_name="weeks")
    starts = models.DateField()
    revision = models.PositiveIntegerField(default=1)
    draft = models.BooleanField(default=False)
    draft_name = models.CharField(max_length=120, blank=True)
    drafted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["classroom", "starts"],
                condition=Q(draft=False),
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


class TeamBlock(models.Model):
    """What the blocks that several classrooms of a team hold in common have in common: who changes
    one of them changes all. Times and activity stand in each classroom's own block, and are the
    same in all blocks of one team block for good: changed, they are another team block, and weeks
    of other dates keep the one they hold.
    """

    team = models.ForeignKey(Team, on_delete=models.CASCADE, related_name="team_blocks")

    def __str__(self) -> str:
        return f"block {self.pk} of {self.team}"


class Block(models.Model):
    """A stretch of a day given to an activity, with the reason why it sits there. With credits
    the activity is only its label. `revision` is the week's as of the block's latest edit; `together`
    is set while its classroom holds it together with others of the team."""

    column = models.ForeignKey(Column, on_delete=models.CASCADE, related_name="blocks")
    start = ClockField()
    end = ClockField()
    activity = models.ForeignKey(Activity, on_delete=models.PROTECT, related_name="+")
    why = models.TextField(blank=True)
    revision = models.PositiveIntegerField(default=1)
    together = models.ForeignKey(TeamBlock, on_delete=models.SET_NULL, null=True, blank=True, related_name="blocks")

    held_with: "Sequence[Block] | None" = None
    """Of a team block that `access` gave for an edit: what changes with it in other classrooms, locked too."""
    not_theirs: Sequence[Classroom] = ()
    """Those of these classrooms whose week the member who asked may not edit."""

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["column", "together"], name="one_block_of_a_team_block_a_column"),
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
    """One edit of a week: who, when, why if they said so, and the blocks before and after.

    Undoing it is its inverse; redoing is undoing an undoing. Edits of several weeks in one deed
    share a `batch`. All changes of a week, replayed from an empty one, give the week: what a copied
    or loaded week began with is its first change, at revision 1.
    """

    week = models.ForeignKey(Week, on_delete=models.CASCADE, related_name="changes")
    revision = models.PositiveIntegerField()
    member = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    made_at = models.DateTimeField(auto_now_add=True)
    deed = models.CharField(max_length=20)
    summary = models.CharField(max_length=200)
    reason = models.TextField(blank=True)
    batch = models.UUIDField(null=True, blank=True)
    before = models.JSONField()
    after = models.JSONField()
    undoes = models.OneToOneField("self", on_delete=models.CASCADE, null=True, blank=True, related_name="undone_by")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["week", "revision"], name="one_change_a_revision")]
        indexes = [models.Index(fields=["batch"], name="change_batch", condition=Q(batch__isnull=False))]

    def __str__(self) -> str:
        return self.summary
