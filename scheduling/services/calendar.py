"""Changes of the school calendar, which reach the readings of every classroom."""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction
from django.db.models import QuerySet

from scheduling.services.compliance import ReadingChanges, recompute
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import CalendarDay, Closure, DayKind, SchoolYear, StandingKind
from teamroom.dates.services import begin_year_change, check_in_year

DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class Picture:
    """A stretch of the calendar as it stands: its closures, whole ones, and the dates with a kind of
    their own (by the kind's key)."""

    first: dt.date
    last: dt.date
    closures: tuple[tuple[dt.date, dt.date, str], ...]
    named: tuple[tuple[dt.date, str], ...]


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
def close_dates(
    year: SchoolYear, first: dt.date, last: dt.date, name: str, *, over_named: bool = False
) -> ReadingChanges:
    """Close a span of dates, both included. With `over_named` dates in it lose a kind of their own;
    else the first such date refuses the closing."""
    year = begin_year_change(year.pk)
    _check_span(year, first, last)
    if _closures(year, first, last).exists():
        raise RuleBroken("The school is already closed on some of these dates.", field="first_day")
    _clear_named(year, first, last, over_named=over_named)
    Closure.objects.create(year=year, first_day=first, last_day=last, name=name.strip() or "Closed")
    return recompute(year)


@transaction.atomic
def reopen(closure: Closure) -> ReadingChanges:
    """Take a closure off the calendar."""
    year = begin_year_change(closure.year_id)
    closure.delete()
    return recompute(year)


@transaction.atomic
def reopen_dates(year: SchoolYear, first: dt.date, last: dt.date) -> ReadingChanges:
    """Open a span of dates again, both included: closures that reach beyond it keep the rest, in two
    pieces of one name where it lies inside. RuleBroken if none of the dates is closed."""
    year = begin_year_change(year.pk)
    _check_span(year, first, last)
    if not _cut_out(year, first, last):
        raise RuleBroken("The school is open on these dates: there is nothing to reopen.", field="first_day")
    return recompute(year)


@transaction.atomic
def change_closure(
    closure: Closure, first: dt.date, last: dt.date, name: str, *, over_named: bool = False
) -> ReadingChanges:
    """Give a closure another name or other dates, both included."""
    year = begin_year_change(closure.year_id)
    _check_span(year, first, last)
    if _closures(year, first, last).exclude(pk=closure.pk).exists():
        raise RuleBroken("The school is already closed on some of these dates.", field="first_day")
    _clear_named(year, first, last, over_named=over_named)
    closure.first_day, closure.last_day, closure.name = first, last, name.strip() or "Closed"
    closure.save(update_fields=["first_day", "last_day", "name"])
    return recompute(year)


def picture_of(year: SchoolYear, first: dt.date, last: dt.date) -> Picture:
    """How the calendar stands from first to last, widened to the whole of each closure it meets."""
    closures = tuple(_closures(year, first, last).values_list("first_day", "last_day", "name"))
    first = min([first, *(start for start, _, _ in closures)])
    last = max([last, *(end for _, end, _ in closures)])
    named = year.calendar_days.filter(date__range=(first, last)).order_by("date").values_list("date", "kind__key")
    return Picture(first, last, closures, tuple(named))


@transaction.atomic
def put_back(year: SchoolYear, picture: Picture) -> ReadingChanges:
    """Make a stretch of the calendar what a picture shows, and leave everything outside it alone."""
    year = begin_year_change(year.pk)
    _check_span(year, picture.first, picture.last)
    kinds = dict(year.day_kinds.values_list("key", "pk"))
    if missing := {kind for _, kind in picture.named} - kinds.keys():
        raise RuleBroken(f"The day kind {min(missing)} is gone: give the dates another kind instead.")
    standing = set(_closures(year, picture.first, picture.last).values_list("first_day", "last_day", "name"))
    if standing != set(picture.closures):
        _cut_out(year, picture.first, picture.last)
        Closure.objects.bulk_create(
            Closure(year=year, first_day=start, last_day=end, name=name) for start, end, name in picture.closures
        )
    year.calendar_days.filter(date__range=(picture.first, picture.last)).exclude(
        date__in=[date for date, _ in picture.named]
    ).delete()
    for date, kind in picture.named:
        CalendarDay.objects.update_or_create(year=year, date=date, defaults={"kind_id": kinds[kind]})
    return recompute(year)


def closure_on(year: SchoolYear, date: dt.date) -> Closure | None:
    """The closure that covers a date; there is never more than one."""
    return _closures(year, date, date).first()


def _closures(year: SchoolYear, first: dt.date, last: dt.date) -> QuerySet[Closure]:
    return year.closures.filter(first_day__lte=last, last_day__gte=first).order_by("first_day")


def _check_span(year: SchoolYear, first: dt.date, last: dt.date) -> None:
    check_in_year(year, first, field="first_day")
    check_in_year(year, last, field="last_day")
    if last < first:
        raise RuleBroken("The last day closed comes before the first.", field="last_day")


def _clear_named(year: SchoolYear, first: dt.date, last: dt.date, *, over_named: bool) -> None:
    named = year.calendar_days.filter(date__range=(first, last)).order_by("date")
    if over_named:
        named.delete()
    elif (one := named.select_related("kind").first()) is not None:
        raise RuleBroken(
            f"{one.date:%d %b %Y} is named as a {one.kind}: take that off the calendar first.", field="first_day"
        )


def _cut_out(year: SchoolYear, first: dt.date, last: dt.date) -> bool:
    """Take a span out of the closures it meets; whether it met any."""
    met = list(_closures(year, first, last))
    for closure in met:
        start, end, name = closure.first_day, closure.last_day, closure.name
        closure.delete()
        if start < first:
            Closure.objects.create(year=year, first_day=start, last_day=first - DAY, name=name)
        if end > last:
            Closure.objects.create(year=year, first_day=last + DAY, last_day=end, name=name)
    return bool(met)
