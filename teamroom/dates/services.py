"""Writes of the school year, and the holds that keep edits and year-wide changes apart."""

import datetime as dt
import uuid
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from teamroom.common.errors import RuleBroken
from teamroom.common.live.announcing import announce, year_topic
from teamroom.dates.calendar_maths import REGULAR
from teamroom.dates.models import DayKind, School, SchoolYear

LONGEST_YEAR = 2 * 366
"""Days. Every date of a year is counted, so a year of centuries typed by a slip would take centuries."""


@transaction.atomic
def begin_school_year(school: School, *, name: str, first_day: dt.date, last_day: dt.date) -> SchoolYear:
    """A year with its regular kind of day, to be set up. RuleBroken at `year_name`, `first_day` or `last_day`."""
    name = " ".join(name.split())
    if not name:
        raise RuleBroken("Name the year, as in 2026-27.", field="year_name")
    check_year_dates(first_day, last_day)
    try:
        with transaction.atomic():
            year = SchoolYear.objects.create(
                school=school, name=name, first_day=first_day, last_day=last_day, being_set_up=True
            )
    except IntegrityError as taken:
        raise RuleBroken(f"{school.name} has a year called {name} already.", field="year_name") from taken
    DayKind.objects.create(year=year, key=REGULAR, name="Regular day")
    return year


def check_year_dates(first_day: dt.date, last_day: dt.date) -> None:
    """Raise RuleBroken for dates that no school year has."""
    if last_day < first_day:
        raise RuleBroken(
            f"The last day comes after the first: choose one after {first_day:%d %b %Y}.", field="last_day"
        )
    if (last_day - first_day).days > LONGEST_YEAR:
        raise RuleBroken("That is more than two years. Check the year of both dates.", field="last_day")


def hold_year(ids: QuerySet[Any, Any]) -> SchoolYear | None:
    """The year whose id a query gives, held unchanged until the transaction ends; None if it
    gives none. Many edits may hold a year at once.

    A change of the year itself waits for them, and they for it, so no reading is worked out from
    half of a change. Whoever locks more than the year locks the year first, as a change of the
    year does: the other way round two could wait for each other.
    """
    sql, values = ids.query.sql_with_params()
    # Django has no word for FOR SHARE; the query inside is its own, with its values apart.
    held = f"SELECT * FROM dates_schoolyear WHERE id IN ({sql}) FOR SHARE"  # noqa: S608 - no text of anybody's
    return next(iter(SchoolYear.objects.raw(held, values)), None)


def check_in_year(year: SchoolYear, date: dt.date, *, field: str) -> None:
    """Raise RuleBroken, at the form's field, for a date that is none of the year's."""
    if not year.first_day <= date <= year.last_day:
        raise RuleBroken(f"Choose a date from {year.first_day:%d %b %Y} to {year.last_day:%d %b %Y}.", field=field)


def begin_year_change(pk: int) -> SchoolYear:
    """The year, for this transaction alone, with a new revision."""
    year = SchoolYear.objects.select_for_update().get(pk=pk)
    year.revision = uuid.uuid4()
    year.save(update_fields=["revision"])
    # Before the rest, unlike other deeds: whoever announces this topic holds the year alone.
    announce(year_topic(pk))
    return year


def year_alone(pk: int) -> SchoolYear:
    """The year, for this transaction alone, its revision kept: for changes that reach no reading."""
    year = SchoolYear.objects.select_for_update().get(pk=pk)
    announce(year_topic(pk))
    return year
