"""Changes of the school calendar, which reach the readings of every classroom."""

import datetime as dt

from django.db import transaction

from scheduling.services.compliance import ReadingChanges, recompute
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import CalendarDay, Closure, DayKind, SchoolYear, StandingKind
from teamroom.dates.services import begin_year_change, check_in_year


@transaction.atomic
def set_day_kind(year: SchoolYear, date: dt.date, kind: DayKind | None) -> ReadingChanges:
    """Give a date a day kind of its own; None takes it away again."""
    year = begin_year_change(year.pk)
    check_in_year(year, date, field="date")
    if year.closures.filter(first_day__lte=date, last_day__gte=date).exists():
        raise RuleBroken("The school is closed on that date: reopen it first.", field="date")
    if kind is None:
        CalendarDay.objects.filter(year=year, date=date).delete()
    else:
        CalendarDay.objects.update_or_create(year=year, date=date, defaults={"kind": kind})
    return recompute(year)


@transaction.atomic
def set_standing_kind(year: SchoolYear, weekday: str, kind: DayKind | None) -> ReadingChanges:
    """Give a weekday a standing kind for the whole year; None makes it regular again."""
    year = begin_year_change(year.pk)
    if kind is None:
        StandingKind.objects.filter(year=year, weekday=weekday).delete()
    else:
        StandingKind.objects.update_or_create(year=year, weekday=weekday, defaults={"kind": kind})
    return recompute(year)


@transaction.atomic
def close_dates(year: SchoolYear, first: dt.date, last: dt.date, name: str) -> ReadingChanges:
    """Close a span of dates, both included."""
    year = begin_year_change(year.pk)
    check_in_year(year, first, field="first_day")
    check_in_year(year, last, field="last_day")
    if last < first:
        raise RuleBroken("The last day closed comes before the first.", field="last_day")
    if year.closures.filter(first_day__lte=last, last_day__gte=first).exists():
        raise RuleBroken("The school is already closed on some of these dates.", field="first_day")
    named = year.calendar_days.filter(date__range=(first, last)).order_by("date").first()
    if named is not None:
        raise RuleBroken(
            f"{named.date:%d %b %Y} is named as a {named.kind}: take that off the calendar first.", field="first_day"
        )
    Closure.objects.create(year=year, first_day=first, last_day=last, name=name.strip() or "Closed")
    return recompute(year)


@transaction.atomic
def reopen(closure: Closure) -> ReadingChanges:
    """Take a closure off the calendar."""
    year = begin_year_change(closure.year_id)
    closure.delete()
    return recompute(year)
