"""Bell schedules: what the school fixes for a grade and a kind of day."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from django.db import transaction

from scheduling.models import Activity, BellSchedule, FixedStretch
from scheduling.services.compliance import ReadingChanges, recompute
from teamroom.common.clock import said_clock
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import DayKind, SchoolYear
from teamroom.dates.services import begin_year_change


@dataclass(frozen=True)
class Fixed:
    """A fixed stretch to be; without days it stands on every cycle day."""

    activity: Activity
    start: int
    end: int
    days: tuple[str, ...] | None = None


@transaction.atomic
def set_bell_schedule(
    year: SchoolYear, grade: str, kind: DayKind, *, start: int, dismissal: int, fixed: Sequence[Fixed] = ()
) -> ReadingChanges:
    """Give a grade its times on a kind of day, in place of what it had.

    Touches the classrooms that the grade leads: a combination class follows its first grade's.
    """
    year = begin_year_change(year.pk)
    _check(start, dismissal, fixed)
    schedule, _ = BellSchedule.objects.update_or_create(
        year=year, grade=grade, kind=kind, defaults={"start": start, "dismissal": dismissal}
    )
    schedule.fixed.all().delete()
    FixedStretch.objects.bulk_create(
        FixedStretch(
            bell_schedule=schedule,
            activity=stretch.activity,
            start=stretch.start,
            end=stretch.end,
            days=list(stretch.days) if stretch.days is not None else None,
        )
        for stretch in fixed
    )
    return _recompute_led_by(year, grade)


@transaction.atomic
def retire_bell_schedule(schedule: BellSchedule) -> ReadingChanges:
    """Take a grade's times for a kind of day away."""
    year = begin_year_change(schedule.year_id)
    schedule.delete()
    return _recompute_led_by(year, schedule.grade)


def _recompute_led_by(year: SchoolYear, grade: str) -> ReadingChanges:
    return recompute(year, classrooms=year.classrooms.filter(grades__0=grade).order_by("pk"))


def _check(start: int, dismissal: int, fixed: Sequence[Fixed]) -> None:
    if dismissal <= start:
        raise RuleBroken(f"Dismissal comes after {said_clock(start)}.", field="dismissal")
    for stretch in fixed:
        if not start <= stretch.start < stretch.end <= dismissal:
            raise RuleBroken(
                f"{stretch.activity} lies within {said_clock(start)} to {said_clock(dismissal)} "
                "and ends after it starts.",
                field="fixed",
            )
    for one, other in combinations(fixed, 2):
        share_day = one.days is None or other.days is None or set(one.days) & set(other.days)
        if share_day and one.start < other.end and other.start < one.end:
            raise RuleBroken(f"{one.activity} and {other.activity} take the same time.", field="fixed")
