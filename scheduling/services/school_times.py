"""Bell schedules: what the school fixes for grades and kinds of day."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from django.db import transaction

from scheduling.minutes.figures import listed
from scheduling.models import Activity, BellSchedule, FixedStretch
from scheduling.selectors.year_words import day_said
from scheduling.services.compliance import ReadingChanges, recompute
from teamroom.common.clock import said_clock, said_span
from teamroom.common.errors import RuleBroken
from teamroom.dates.calendar_maths import Cycle
from teamroom.dates.grades import LONGEST
from teamroom.dates.models import DayKind, SchoolYear
from teamroom.dates.selectors import cycle_of
from teamroom.dates.services import begin_year_change

MOST_STRETCHES = 40
MOST_PLACES = 400

BellPlace = tuple[str, DayKind]
"""A grade and a kind of day, which have times of their own."""


@dataclass(frozen=True)
class Fixed:
    """A fixed stretch to be; without days it stands on every cycle day."""

    activity: Activity
    start: int
    end: int
    days: tuple[str, ...] | None = None

    def clashes_with(self, other: "Fixed") -> bool:
        share_day = self.days is None or other.days is None or bool(set(self.days) & set(other.days))
        return share_day and self.start < other.end and other.start < self.end


@dataclass(frozen=True)
class BellTimes:
    """What a bell schedule says, in minutes since midnight."""

    start: int
    dismissal: int
    fixed: Sequence[Fixed] = ()


@transaction.atomic
def set_bell_schedule(year: SchoolYear, places: Sequence[BellPlace], times: BellTimes) -> ReadingChanges:
    """Give grades these times on kinds of day, in place of what each had; all of them or none.

    Touches the classrooms that these grades lead: a combination class follows its first grade's.
    Raises RuleBroken at `places`, `start`, `dismissal`, or `fixed-<n>` for the n-th stretch from 0.
    """
    year = begin_year_change(year.pk)
    _check_places(year, places)
    _check_times(times)
    _check_fixed(year, times, cycle_of(year))
    for grade, kind in places:
        _write(year, grade, kind, times)
    return _recompute_led_by(year, {grade for grade, _ in places})


@transaction.atomic
def retire_bell_schedule(schedule: BellSchedule) -> ReadingChanges:
    """Take a grade's times for a kind of day away."""
    year = begin_year_change(schedule.year_id)
    schedule.delete()
    return _recompute_led_by(year, {schedule.grade})


def _recompute_led_by(year: SchoolYear, grades: set[str]) -> ReadingChanges:
    return recompute(year, classrooms=year.classrooms.filter(grades__0__in=sorted(grades)).order_by("pk"))


def _write(year: SchoolYear, grade: str, kind: DayKind, times: BellTimes) -> None:
    """Write what differs and nothing else, so that the trail tells what changed."""
    found = BellSchedule.objects.filter(year=year, grade=grade, kind=kind).first()
    schedule = found or BellSchedule(year=year, grade=grade, kind=kind)
    if found is None or (found.start, found.dismissal) != (times.start, times.dismissal):
        schedule.start, schedule.dismissal = times.start, times.dismissal
        schedule.save()
    wanted = Counter((one.activity.pk, one.start, one.end, one.days) for one in times.fixed)
    for row in schedule.fixed.all():
        kept = (row.activity_id, row.start, row.end, tuple(row.days) if row.days is not None else None)
        if wanted[kept] > 0:
            wanted[kept] -= 1
        else:
            row.delete()
    FixedStretch.objects.bulk_create(
        FixedStretch(bell_schedule=schedule, activity_id=activity, start=start, end=end, days=days and list(days))
        for activity, start, end, days in wanted.elements()
    )


def _check_places(year: SchoolYear, places: Sequence[BellPlace]) -> None:
    if not places:
        raise RuleBroken("Tick at least one grade and kind of day that keep these times.", field="places")
    if len(places) > MOST_PLACES:
        raise RuleBroken(f"These are {len(places)} grades and kinds of day: tick fewer.", field="places")
    for grade, kind in places:
        if not grade.strip() or len(grade) > LONGEST:
            raise RuleBroken("Name each grade, as in K or 4.", field="places")
        if kind.year_id != year.pk:
            raise RuleBroken("Choose one of this year's kinds of day.", field="places")


def _check_times(times: BellTimes) -> None:
    if not 0 <= times.start < times.dismissal:
        raise RuleBroken(f"Give a dismissal after the start at {said_clock(times.start)}.", field="dismissal")
    if times.dismissal > 24 * 60:
        raise RuleBroken("Give a dismissal before midnight.", field="dismissal")


def _check_fixed(year: SchoolYear, times: BellTimes, cycle: Cycle) -> None:
    if len(times.fixed) > MOST_STRETCHES:
        raise RuleBroken(f"Give at most {MOST_STRETCHES} fixed stretches.", field="fixed")
    for place, one in enumerate(times.fixed):
        if one.activity.year_id != year.pk:
            raise RuleBroken("Choose one of this year's activities.", field=f"fixed-{place}")
        if fault := _out_of_place(one, times) or _unknown_days(one, cycle):
            raise RuleBroken(f"Row {place + 1}, {one.activity}, {fault}", field=f"fixed-{place}")
    for (n, one), (m, other) in combinations(enumerate(times.fixed), 2):
        if one.clashes_with(other):
            shared = set(one.days or other.days or ()) & set(other.days or one.days or ())
            days = [day for day in cycle.day_names if day in shared]
            on = f" on {listed([day_said(day) for day in days])}" if days else ""
            raise RuleBroken(
                f"Row {m + 1}, {other.activity}, takes time that row {n + 1} gives to {one.activity}, "
                f"{said_span(one.start, one.end)}{on}: move one of them, or give them different days.",
                field=f"fixed-{m}",
            )


def _out_of_place(one: Fixed, times: BellTimes) -> str:
    """What is wrong with a stretch's place in the day; empty if nothing is."""
    if one.end <= one.start:
        return f"ends before it starts: give it an end after {said_clock(one.start)}."
    if one.start < times.start:
        return f"begins before the day does: start it at {said_clock(times.start)} or later, or begin the day earlier."
    if one.end > times.dismissal:
        return f"ends after dismissal: end it by {said_clock(times.dismissal)}, or let the day end later."
    return ""


def _unknown_days(one: Fixed, cycle: Cycle) -> str:
    strange = [day for day in one.days or () if day not in cycle.day_names]
    if one.days is not None and not one.days:
        return "has no day: choose some, or leave all days unticked for every day."
    if strange:
        return f"is set for {listed([day_said(day) for day in strange])}, which this year’s cycle has not: untick that."
    return ""
