"""What interrupts a week: the one door by which a date's change reaches the minutes."""

import datetime as dt
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from django.db import transaction

from scheduling.models import Activity, DayChange, DayChangeCredit, DayChangeReach
from scheduling.models.day_changes import WHOLE_DAY
from scheduling.services.compliance import ReadingChanges, recompute
from scheduling.services.credits import check_credits
from teamroom.common.clock import said_clock
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import SchoolYear
from teamroom.dates.services import begin_year_change, check_in_year
from teamroom.members.models import Classroom, Team


@dataclass(frozen=True)
class Happening:
    """A day change to be. Without classrooms and teams it is for the school; a closing takes the
    whole day and credits nothing. `credits` pairs activity ids with minutes, in order."""

    date: dt.date
    name: str
    closed: bool = False
    start: int = WHOLE_DAY[0]
    end: int = WHOLE_DAY[1]
    credits: tuple[tuple[int, int], ...] = ()
    classrooms: tuple[Classroom, ...] = ()
    teams: tuple[Team, ...] = ()


@transaction.atomic
def place(year: SchoolYear, happening: Happening) -> tuple[DayChange, ReadingChanges]:
    """Put a day change in the calendar and bring the readings it reaches up to date."""
    year = begin_year_change(year.pk)
    _check(year, happening)
    change = DayChange(year=year)
    return change, recompute(year, classrooms=_write(change, happening))


@transaction.atomic
def move(change: DayChange, happening: Happening) -> tuple[DayChange, ReadingChanges]:
    """Give a day change another date, time, audience or credit; it keeps its identity."""
    year = begin_year_change(change.year_id)
    _check(year, happening)
    before = [reach.classroom for reach in change.reach.select_related("classroom")]
    change.year = year
    change.reach.all().delete()
    change.credits.all().delete()
    touched = {classroom.pk: classroom for classroom in (*before, *_write(change, happening))}
    return change, recompute(year, classrooms=touched.values())


@transaction.atomic
def lift(change: DayChange) -> ReadingChanges:
    """Take a day change away: the weeks it interrupted heal."""
    year = begin_year_change(change.year_id)
    reached = [reach.classroom for reach in change.reach.select_related("classroom")]
    change.delete()
    return recompute(year, classrooms=reached)


def _write(change: DayChange, happening: Happening) -> list[Classroom]:
    """Write a change as it is to be, with its credits and reach; the classrooms it reaches."""
    change.date, change.name, change.closed = happening.date, happening.name.strip(), happening.closed
    change.start, change.end = happening.start, happening.end
    change.save()
    change.classrooms.set(happening.classrooms)
    change.teams.set(happening.teams)
    DayChangeCredit.objects.bulk_create(
        DayChangeCredit(day_change=change, place=n, activity_id=activity, minutes=minutes)
        for n, (activity, minutes) in enumerate(happening.credits)
    )
    reached = reached_by(change.year, happening.classrooms, happening.teams)
    _check_free(change, reached)
    write_reach([(change, reached)])
    return reached


def reached_by(year: SchoolYear, classrooms: Collection[Classroom], teams: Collection[Team]) -> list[Classroom]:
    """The classrooms a change is for: those named and those of named teams; of the school if none."""
    everyone = year.classrooms.order_by("pk")
    if not classrooms and not teams:
        return list(everyone)
    named, of_teams = {classroom.pk for classroom in classrooms}, {team.pk for team in teams}
    return [room for room in everyone if room.pk in named or room.team_id in of_teams]


def write_reach(reached: Iterable[tuple[DayChange, Sequence[Classroom]]]) -> None:
    """Write which classrooms changes reach, many changes at once."""
    DayChangeReach.objects.bulk_create(
        (
            DayChangeReach(day_change=change, classroom=classroom, date=change.date, start=change.start, end=change.end)
            for change, classrooms in reached
            for classroom in classrooms
        ),
        batch_size=5000,
    )


def _check(year: SchoolYear, happening: Happening) -> None:
    if not happening.name.strip():
        raise RuleBroken("Say what happens on that day.", field="name")
    check_in_year(year, happening.date, field="date")
    if happening.closed and ((happening.start, happening.end) != WHOLE_DAY or happening.credits):
        raise RuleBroken("A closing takes the whole day and credits nothing.", field="closed")
    if happening.end <= happening.start:
        raise RuleBroken(f"Give the change an end after {said_clock(happening.start)}.", field="end")
    known = Activity.objects.filter(year=year).values_list("pk", flat=True)
    check_credits(happening.credits, happening.end - happening.start, set(known))


def _check_free(change: DayChange, reached: Sequence[Classroom]) -> None:
    other = (
        DayChangeReach.objects.filter(
            classroom__in=reached, date=change.date, start__lt=change.end, end__gt=change.start
        )
        .exclude(day_change=change)
        .select_related("day_change", "classroom")
        .first()
    )
    if other is not None:
        raise RuleBroken(
            f"{other.day_change.name} already takes some of that time from {other.classroom}: "
            "choose another time, or lift that change first.",
            field="start",
        )
