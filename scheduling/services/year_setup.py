"""A year's name and dates, its school's name, time zone and place, and the days it must hold."""

import datetime as dt
import zoneinfo
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import blake2b

from django.db import transaction

from scheduling.calendar_reading.known_holidays import is_known_place
from scheduling.models import DayChange, Week
from scheduling.services.compliance import ReadingChanges, recompute
from teamroom.common.errors import RuleBroken
from teamroom.common.wording import counted, full_date
from teamroom.dates.models import CalendarDay, Closure, School, SchoolYear
from teamroom.dates.services import begin_year_change, check_year_dates

MOST_NAMED = 6
MOST_DAYS = 366


@dataclass(frozen=True)
class YearFacts:
    """What a year and its school are called, where and when. `place` is a state as ISO 3166-2 writes
    it, or empty; `required_days` is None where nobody said."""

    school_name: str
    time_zone: str
    place: str
    name: str
    first_day: dt.date
    last_day: dt.date
    required_days: int | None = None
    required_days_source: str = ""


@dataclass(frozen=True)
class LeftOutside:
    """What of a calendar lies outside other dates of its year, with a line for each thing."""

    closures: tuple[Closure, ...]
    days: tuple[CalendarDay, ...]
    changes: tuple[DayChange, ...]
    first: dt.date
    last: dt.date

    def __bool__(self) -> bool:
        return bool(self.closures or self.days or self.changes)

    @property
    def lines(self) -> Iterator[str]:
        for closure in self.closures:
            what = "is cut to the year" if closure.first_day <= self.last and closure.last_day >= self.first else "goes"
            yield f"{closure.name}, {full_date(closure.first_day)} to {full_date(closure.last_day)}, {what}."
        for day in self.days:
            yield f"{full_date(day.date)} is no {day.kind} any more."
        for change in self.changes:
            yield f"{change.name} on {full_date(change.date)} goes."

    @property
    def seal(self) -> str:
        """Equal for the same things, so that a yes is held to what was shown."""
        return blake2b("\n".join(self.lines).encode(), digest_size=12).hexdigest()


class FallsOutside(RuleBroken):
    """Dates that would leave things of the calendar outside the year, and nobody said yes to that."""

    def __init__(self, outside: LeftOutside, *, field: str) -> None:
        things = len(outside.closures) + len(outside.days) + len(outside.changes)
        super().__init__(
            f"{counted(things, 'thing')} of the calendar would fall outside the year. "
            f"Say that {'it' if things == 1 else 'they'} may be taken off, or choose other dates.",
            field=field,
        )
        self.outside = outside


@transaction.atomic
def set_year(year: SchoolYear, facts: YearFacts, *, take_out: str = "") -> ReadingChanges:
    """Give a year and its school other facts, and bring the readings up to date.

    Raises FallsOutside where closures, dates of another kind or day changes would lie outside the
    year, unless `take_out` is the seal of just these: then they are taken off. A class's week that
    was in effect on the new first day begins with it; weeks that would never be in effect refuse
    the dates. RuleBroken for anything else.
    """
    year = begin_year_change(year.pk)
    _set_school(year.school_id, facts)
    name = " ".join(facts.name.split())
    if not name:
        raise RuleBroken("Name the year, as in 2026-27.", field="year_name")
    if SchoolYear.objects.filter(school=year.school_id, name__iexact=name).exclude(pk=year.pk).exists():
        raise RuleBroken(f"The school has a year called {name} already.", field="year_name")
    if facts.required_days is not None and not 0 < facts.required_days <= MOST_DAYS:
        raise RuleBroken(f"Give a number of school days from 1 to {MOST_DAYS}.", field="required_days")
    check_year_dates(facts.first_day, facts.last_day)
    if (year.first_day, year.last_day) != (facts.first_day, facts.last_day):
        _move_ends(year, facts, take_out)
    year.name, year.first_day, year.last_day = name, facts.first_day, facts.last_day
    year.required_days, year.required_days_source = facts.required_days, facts.required_days_source.strip()
    year.save()
    return recompute(year)


def left_outside(year: SchoolYear, first: dt.date, last: dt.date) -> LeftOutside:
    """What of a year's calendar would lie outside other first and last days."""
    return LeftOutside(
        closures=tuple(
            closure
            for closure in year.closures.order_by("first_day")
            if closure.first_day < first or closure.last_day > last
        ),
        days=tuple(
            day for day in year.calendar_days.select_related("kind").order_by("date") if not first <= day.date <= last
        ),
        changes=tuple(
            change
            for change in DayChange.objects.filter(year=year).order_by("date", "pk")
            if not first <= change.date <= last
        ),
        first=first,
        last=last,
    )


def _set_school(pk: int, facts: YearFacts) -> None:
    school = School.objects.select_for_update().get(pk=pk)
    name = " ".join(facts.school_name.split())
    if not name:
        raise RuleBroken("Give the school’s name.", field="name")
    if School.objects.filter(name__iexact=name).exclude(pk=pk).exists():
        raise RuleBroken(f"There is a school called {name} already. Give this one a name of its own.", field="name")
    if facts.time_zone not in zoneinfo.available_timezones():
        raise RuleBroken("Choose the school’s time zone from the list.", field="time_zone")
    if facts.place and not is_known_place(facts.place):
        raise RuleBroken("Choose the state or territory from the list.", field="place")
    if (school.name, school.time_zone, school.place) != (name, facts.time_zone, facts.place):
        school.name, school.time_zone, school.place = name, facts.time_zone, facts.place
        school.save()


def _move_ends(year: SchoolYear, facts: YearFacts, take_out: str) -> None:
    first, last = facts.first_day, facts.last_day
    _move_weeks(year, first, last)
    outside = left_outside(year, first, last)
    if outside and outside.seal != take_out:
        raise FallsOutside(outside, field="first_day" if first > year.first_day else "last_day")
    for closure in outside.closures:
        if closure.last_day < first or closure.first_day > last:
            closure.delete()
        else:
            closure.first_day, closure.last_day = max(closure.first_day, first), min(closure.last_day, last)
            closure.save(update_fields=["first_day", "last_day"])
    CalendarDay.objects.filter(pk__in=[day.pk for day in outside.days]).delete()
    DayChange.objects.filter(pk__in=[change.pk for change in outside.changes]).delete()
    if year.cycle_starts and not first <= year.cycle_starts <= last:
        raise RuleBroken(
            f"The cycle begins on {full_date(year.cycle_starts)}: give it a beginning within the new dates first, "
            "under Day kinds.",
            field="first_day",
        )


def _move_weeks(year: SchoolYear, first: dt.date, last: dt.date) -> None:
    """Let the weeks in effect on the new first day begin with it; refuse dates that leave a week out of effect.
    Drafts count for nothing: one for a date outside moves to the nearest within."""
    drafts = Week.objects.filter(classroom__year=year, draft=True)
    drafts.filter(starts__lt=first).update(starts=first)
    drafts.filter(starts__gt=last).update(starts=last)
    weeks = (
        Week.objects.filter(classroom__year=year, draft=False)
        .select_related("classroom")
        .order_by("classroom", "starts")
    )
    late = [week for week in weeks if week.starts > last]
    if late:
        raise RuleBroken(
            f"The year would end before {_named(late)}: put it into effect earlier first.", field="last_day"
        )
    early = [week for week in weeks if week.starts < first]
    in_effect = {week.classroom_id: week for week in weeks if week.starts <= first}
    gone = [week for week in early if in_effect[week.classroom_id] != week]
    if gone:
        raise RuleBroken(
            f"The year would begin after {_named(gone)} has given way to the next: drop that version first.",
            field="first_day",
        )
    for week in early:
        week.starts = first
        week.save(update_fields=["starts"])


def _named(weeks: list[Week]) -> str:
    told = [f"{week.classroom}’s week from {full_date(week.starts)}" for week in weeks[:MOST_NAMED]]
    more = len(weeks) - len(told)
    return ", ".join(told) + (f" and {counted(more, 'other week')}" if more > 0 else "")
