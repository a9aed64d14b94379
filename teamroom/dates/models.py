"""The school and its years: the calendar of school days, each of a day kind or without pupils."""

import datetime as dt
import uuid
from zoneinfo import ZoneInfo

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from teamroom.common.fields import KeyField
from teamroom.common.ranges import DateSpan, no_overlap
from teamroom.common.trail import kept_in_trail
from teamroom.dates.calendar_maths import (
    CYCLE_KINDS,
    DEFAULT_ROTATION,
    LONGEST_ROTATION,
    REGULAR,
    WEEKDAYS,
)


@kept_in_trail()
class School(models.Model):
    """A school; every query starts from the school a member belongs to.

    `place` is its state or territory as ISO 3166-2 writes it (US-CA), empty where nobody said.
    """

    name = models.CharField(max_length=200, unique=True)
    time_zone = models.CharField(max_length=80)
    place = models.CharField(max_length=6, blank=True)

    def __str__(self) -> str:
        return self.name

    def today(self) -> dt.date:
        """The date at the school: by its own clock, not the server's."""
        return timezone.localdate(timezone=ZoneInfo(self.time_zone))


@kept_in_trail(exclude=["revision", "loaded_at"])
class SchoolYear(models.Model):
    """One school year. `revision` is new after every change of the calendar, bells, activities or
    rules, so that what is kept from them can be told from what is now. It is never used again,
    not even by a change that was rolled back, as a number would be.

    `required_days` is how many school days the school must hold, as it says itself, with its
    source. A year made on the screens is `being_set_up` until its administrator says otherwise."""

    school = models.ForeignKey(School, on_delete=models.CASCADE, related_name="years")
    name = models.CharField(max_length=80)
    first_day = models.DateField()
    last_day = models.DateField()
    cycle_kind = models.CharField(max_length=20, choices=[(kind, kind) for kind in CYCLE_KINDS], default="weekdays")
    cycle_length = models.PositiveSmallIntegerField(default=DEFAULT_ROTATION)
    cycle_starts = models.DateField(null=True, blank=True)
    required_days = models.PositiveSmallIntegerField(null=True, blank=True)
    required_days_source = models.CharField(max_length=300, blank=True)
    being_set_up = models.BooleanField(default=False)
    revision = models.UUIDField(default=uuid.uuid4, editable=False)
    loaded_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["school", "name"], name="one_year_of_a_name"),
            models.CheckConstraint(
                condition=Q(first_day__lte=F("last_day")),
                name="year_runs_forward",
                violation_error_message="The year's last day comes before its first.",
            ),
            models.CheckConstraint(condition=Q(cycle_length__range=(1, LONGEST_ROTATION)), name="cycle_length_known"),
        ]

    def __str__(self) -> str:
        return f"{self.school} {self.name}"


@kept_in_trail()
class DayKind(models.Model):
    """What sort of day a date can be. Each year has the regular kind."""

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="day_kinds")
    key = KeyField()
    name = models.CharField(max_length=120)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["year", "key"], name="one_day_kind_a_key")]

    def __str__(self) -> str:
        return self.name

    @property
    def is_regular(self) -> bool:
        return bool(self.key == REGULAR)


@kept_in_trail()
class Closure(models.Model):
    """A span of dates without pupils, both ends included."""

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="closures")
    first_day = models.DateField()
    last_day = models.DateField()
    name = models.CharField(max_length=120)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(first_day__lte=F("last_day")),
                name="closure_runs_forward",
                violation_error_message="The closure's last day comes before its first.",
            ),
            no_overlap(
                "year",
                span=DateSpan("first_day", "last_day"),
                name="closures_do_not_overlap",
                message="The school is already closed on some of these dates.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


@kept_in_trail()
class StandingKind(models.Model):
    """The day kind a weekday has all year, unless a date has its own."""

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="standing_kinds")
    weekday = models.CharField(max_length=3, choices=[(day, day) for day in WEEKDAYS])
    kind = models.ForeignKey(DayKind, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["year", "weekday"], name="one_standing_kind_a_weekday")]

    def __str__(self) -> str:
        return f"{self.weekday}: {self.kind}"


@kept_in_trail()
class CalendarDay(models.Model):
    """A date with a day kind of its own; it opens a Saturday or Sunday."""

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="calendar_days")
    date = models.DateField()
    kind = models.ForeignKey(DayKind, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["year", "date"], name="one_kind_a_date"),
        ]

    def __str__(self) -> str:
        return f"{self.date:%Y-%m-%d}: {self.kind}"


class Grades(ArrayField):  # type: ignore[type-arg]  # always of short text
    """The grades a thing is for, such as K, 1 or 5; the first of a combination class leads."""

    def __init__(self, **kwargs: object) -> None:
        kwargs.setdefault("base_field", models.CharField(max_length=20))
        super().__init__(**kwargs)  # type: ignore[arg-type]  # field options pass through as given
