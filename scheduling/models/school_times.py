"""What the school fixes for everybody: its activities and its bell schedules."""

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q

from teamroom.common.fields import ClockField, KeyField
from teamroom.common.trail import kept_in_trail
from teamroom.dates.models import DayKind, SchoolYear


@kept_in_trail()
class Activity(models.Model):
    """A subject or another use of time. What counts as instruction is each rule's own word.

    Where it `frees_teacher`, somebody else has the class meanwhile, and its teachers can plan
    together; a specialist's post says the same for the classes it is for.
    """

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="activities")
    key = KeyField()
    name = models.CharField(max_length=120)
    frees_teacher = models.BooleanField(default=False)

    class Meta:
        verbose_name_plural = "activities"
        constraints = [models.UniqueConstraint(fields=["year", "key"], name="one_activity_a_key")]

    def __str__(self) -> str:
        return self.name


@kept_in_trail()
class BellSchedule(models.Model):
    """Start and dismissal of one grade on one kind of day."""

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="bell_schedules")
    grade = models.CharField(max_length=20)
    kind = models.ForeignKey(DayKind, on_delete=models.PROTECT, related_name="bell_schedules")
    start = ClockField()
    dismissal = ClockField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["year", "grade", "kind"], name="one_bell_schedule"),
            models.CheckConstraint(
                condition=Q(start__lt=F("dismissal")) & Q(dismissal__lte=1440),
                name="bell_runs_forward",
                violation_error_message="Dismissal comes after the start of the day.",
            ),
        ]

    def __str__(self) -> str:
        return f"grade {self.grade}, {self.kind}"


@kept_in_trail()
class FixedStretch(models.Model):
    """Time the school fixes in every column of a grade and kind; without days, on every day.

    That stretches of one schedule do not overlap on a shared day and stay inside the bell is
    checked where they are written: it spans rows and arrays.
    """

    bell_schedule = models.ForeignKey(BellSchedule, on_delete=models.CASCADE, related_name="fixed")
    activity = models.ForeignKey(Activity, on_delete=models.PROTECT, related_name="+")
    start = ClockField()
    end = ClockField()
    days = ArrayField(models.CharField(max_length=8), null=True, blank=True)

    class Meta:
        verbose_name_plural = "fixed stretches"
        constraints = [
            models.CheckConstraint(
                condition=Q(start__lt=F("end")) & Q(end__lte=1440),
                name="fixed_stretch_runs_forward",
                violation_error_message="A fixed stretch ends after it starts.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.activity} {self.start}-{self.end}"
