"""What happens on one date: an early release, an assembly, a trip, a closure."""

from django.db import models
from django.db.models import F, Q

from scheduling.models.school_times import Activity
from teamroom.common.fields import ClockField
from teamroom.common.ranges import MinuteRange, no_overlap
from teamroom.common.trail import kept_in_trail
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, Team

WHOLE_DAY = (0, 1440)


@kept_in_trail()
class DayChange(models.Model):
    """A date's change for classrooms and teams, or without either for the school. It closes the
    day, or takes [start, end) out of whatever lies there."""

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="day_changes")
    date = models.DateField()
    name = models.CharField(max_length=200)
    closed = models.BooleanField(default=False)
    start = ClockField(default=WHOLE_DAY[0])
    end = ClockField(default=WHOLE_DAY[1])
    classrooms = models.ManyToManyField(Classroom, blank=True, related_name="+")
    teams = models.ManyToManyField(Team, blank=True, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(start__lt=F("end")) & Q(end__lte=1440),
                name="day_change_runs_forward",
                violation_error_message="Give the change an end after its start.",
            ),
            models.CheckConstraint(
                condition=Q(closed=False) | Q(start=WHOLE_DAY[0], end=WHOLE_DAY[1]),
                name="closing_takes_the_whole_day",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.date:%Y-%m-%d}"


class DayChangeCredit(models.Model):
    """Minutes a day change credits to one activity. A trigger of the database holds their sum
    within the time it takes, and to none where it closes the day."""

    day_change = models.ForeignKey(DayChange, on_delete=models.CASCADE, related_name="credits")
    place = models.PositiveSmallIntegerField()
    activity = models.ForeignKey(Activity, on_delete=models.PROTECT, related_name="+")
    minutes = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["place"]
        constraints = [
            models.UniqueConstraint(fields=["day_change", "activity"], name="one_day_credit_an_activity"),
            models.CheckConstraint(condition=Q(minutes__gte=1), name="day_credit_of_a_minute_or_more"),
        ]

    def __str__(self) -> str:
        return f"{self.activity} {self.minutes}"


class DayChangeReach(models.Model):
    """A classroom a day change reaches, with its date and time repeated, so that the database
    itself can refuse two changes that take the same minute of a classroom."""

    day_change = models.ForeignKey(DayChange, on_delete=models.CASCADE, related_name="reach")
    classroom = models.ForeignKey(Classroom, on_delete=models.CASCADE, related_name="day_changes")
    date = models.DateField()
    start = ClockField()
    end = ClockField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["day_change", "classroom"], name="one_reach_a_classroom"),
            no_overlap(
                "classroom",
                "date",
                span=MinuteRange("start", "end"),
                name="day_changes_do_not_overlap",
                message="Another change already takes some of this time from the classroom.",
                deferred=True,
            ),
        ]

    def __str__(self) -> str:
        return f"{self.day_change} for {self.classroom}"
