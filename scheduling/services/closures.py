"""Many closures, and dates of another kind, written at once: one transaction, one recomputation."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.db import transaction

from scheduling.calendar_reading.spans import Seen, Span, dates_of, fresh
from scheduling.selectors.closures import seen_of
from scheduling.services.compliance import recompute
from teamroom.common.errors import RuleBroken
from teamroom.common.wording import full_date
from teamroom.dates.calendar_maths import WEEKDAYS
from teamroom.dates.models import CalendarDay, Closure, DayKind, SchoolYear
from teamroom.dates.services import begin_year_change

LONGEST_NAME = 120


@dataclass(frozen=True)
class KindDates:
    """Dates that are to get a kind of day. `line` names the form field that asks for it."""

    dates: tuple[dt.date, ...]
    kind: DayKind
    line: str = ""


@dataclass(frozen=True)
class Closing:
    """A span to close. `line` names the form field that asks for it."""

    span: Span
    line: str = ""


@dataclass(frozen=True)
class Written:
    """What was written: the new closures (each with its id), and the dates that got a kind (by its id).
    `covered` spans were closed already."""

    closures: tuple[tuple[int, Span], ...]
    dates: tuple[tuple[dt.date, int], ...]
    covered: int = 0


@transaction.atomic
def write_calendar(year: SchoolYear, closings: Sequence[Closing], kinds: Sequence[KindDates] = ()) -> Written:
    """Close spans and give dates a kind, all or nothing.

    Of a span only what is in the year and not closed yet becomes a closure. A date that is closed,
    has no school, or is of that kind anyway is passed over. RuleBroken, at the line, for a date
    that has another kind of its own: that is never overwritten from here.
    """
    year = begin_year_change(year.pk)
    seen = seen_of(year)
    for closing in closings:
        _check_closing(closing, seen)
    pieces = fresh((closing.span for closing in closings), seen.closed, seen.first, seen.last)
    rows = Closure.objects.bulk_create(
        Closure(year=year, first_day=piece.first, last_day=piece.last, name=piece.name) for piece in pieces
    )
    dates = _kinds_of_dates(year, kinds, seen, {date for piece in pieces for date in dates_of(piece)})
    CalendarDay.objects.bulk_create(CalendarDay(year=year, date=date, kind=kind) for date, kind in dates.items())
    recompute(year)
    return Written(
        tuple((row.pk, piece) for row, piece in zip(rows, pieces, strict=True)),
        tuple((date, kind.pk) for date, kind in dates.items()),
        sum(not _has_piece(closing.span, pieces) for closing in closings),
    )


@transaction.atomic
def take_back(year: SchoolYear, written: Written) -> Written:
    """Take off the calendar what was written, as far as it still stands so; that much is given back."""
    year = begin_year_change(year.pk)
    standing = still_there(year, written)
    Closure.objects.filter(pk__in=[pk for pk, _ in standing.closures]).delete()
    CalendarDay.objects.filter(year=year, date__in=[date for date, _ in standing.dates]).delete()
    recompute(year)
    return standing


def still_there(year: SchoolYear, written: Written) -> Written:
    """What of it stands in the calendar as it was written."""
    found = year.closures.values_list("pk", "first_day", "last_day", "name")
    rows = {pk: Span(first, last, name) for pk, first, last, name in found}
    days = set(year.calendar_days.values_list("date", "kind"))
    return Written(
        tuple((pk, span) for pk, span in written.closures if rows.get(pk) == span),
        tuple(day for day in written.dates if day in days),
    )


def _has_piece(span: Span, pieces: Sequence[Span]) -> bool:
    return any(piece.name == span.name and piece.meets(span.first, span.last) for piece in pieces)


def _check_closing(closing: Closing, seen: Seen) -> None:
    span, field = closing.span, closing.line or None
    if not span.name.strip() or len(span.name) > LONGEST_NAME:
        raise RuleBroken(f"Give each closure a name of at most {LONGEST_NAME} letters.", field=field)
    if span.last < span.first:
        raise RuleBroken(f"{span.name} ends before it begins.", field=field)
    if not span.meets(seen.first, seen.last):
        raise RuleBroken(f"{span.name} lies outside the year: leave it out.", field=field)
    named = next((date for date in seen.named if span.first <= date <= span.last), None)
    if named is not None:
        raise RuleBroken(
            f"{span.name}: {full_date(named)} is named as a {seen.named[named]}. "
            "Take that off the calendar first, or leave this line out.",
            field=field,
        )


def _kinds_of_dates(
    year: SchoolYear, wanted: Iterable[KindDates], seen: Seen, closing: set[dt.date]
) -> Mapping[dt.date, DayKind]:
    standing = dict(year.standing_kinds.values_list("weekday", "kind"))
    regular = next(kind for kind in year.day_kinds.all() if kind.is_regular)
    own = dict(year.calendar_days.values_list("date", "kind"))
    found: dict[dt.date, DayKind] = {}
    for asked in wanted:
        if asked.kind.year_id != year.pk:
            raise RuleBroken("Choose one of this year’s day kinds.", field=asked.line or None)
        for date in asked.dates:
            if date not in seen.school_days or date in closing:
                continue
            usual = own.get(date) or standing.get(WEEKDAYS[date.weekday()], regular.pk)
            if usual == asked.kind.pk:
                continue
            if date in own or found.get(date, asked.kind) != asked.kind:
                other = seen.named.get(date) or str(found[date])
                raise RuleBroken(
                    f"{full_date(date)} is to be a {other} already: leave one of the two out.",
                    field=asked.line or None,
                )
            found[date] = asked.kind
    return found
