"""A sound document into the database: all of it or nothing."""

import datetime as dt
import os
from pathlib import Path
from typing import NamedTuple

import pghistory
from django.conf import settings
from django.db import connection, transaction
from django.utils import timezone
from django.utils.text import slugify

from scheduling.models import (
    Activity,
    BellSchedule,
    Block,
    BlockCredit,
    BlockUse,
    Column,
    DayChange,
    DayChangeReach,
    Question,
    Reading,
    Rule,
    SharedResource,
    TeamBlock,
    Week,
    WeekChange,
)
from scheduling.services.compliance import recompute
from teamroom.dates.calendar_maths import DEFAULT_ROTATION
from teamroom.dates.models import CalendarDay, Closure, DayKind, School, SchoolYear, StandingKind
from teamroom.dates.services import begin_year_change
from teamroom.school_file.dumping import dumped
from teamroom.school_file.form import Document
from teamroom.school_file.kept_posts import put_posts_back, take_posts
from teamroom.school_file.meaning.ground import date_in, date_of
from teamroom.school_file.rows import (
    Rows,
    insert_activities,
    insert_bells,
    insert_calendar,
    insert_rules,
    insert_shared_resources,
    place_teams_and_classrooms,
)
from teamroom.school_file.week_rows import insert_day_changes, insert_weeks


class Loaded(NamedTuple):
    """The year as loaded; where the one it replaced was put, if it replaced one."""

    year: SchoolYear
    replaced: Path | None


def load(document: Document) -> Loaded:
    """Write a sound document's year and work out its readings.

    A year of that name in a school of that name is replaced: the school, year, teams and
    classrooms keep their rows, found by name and key, and with them their people; what the file
    does not name is removed. The year as it was is dumped to a file first.
    """
    # The trail then tells it as one file, and not as hundreds of changes.
    with pghistory.context(deed="school file"), transaction.atomic():
        return _loaded(document)


def _loaded(document: Document) -> Loaded:
    year, is_new = _year(document)
    replaced = None if is_new else _put_aside(year)
    posts = take_posts(year)
    if not is_new:
        _clear(year)
    _write_year(year, document["year"])
    rows = Rows(year)
    insert_calendar(rows, document["year"])
    insert_activities(rows, document)
    insert_shared_resources(rows, document)
    insert_bells(rows, document)
    insert_rules(rows, document)
    place_teams_and_classrooms(rows, document)
    put_posts_back(rows, posts)
    insert_weeks(rows, document)
    insert_day_changes(rows, document)
    recompute(year)
    connection.check_constraints()
    return Loaded(year, replaced)


def _year(document: Document) -> tuple[SchoolYear, bool]:
    """The year to write to, held for this transaction, and whether it is new."""
    written = document["year"]
    told = {key: value for key, value in document["school"].items() if key != "name" and value}
    school, _ = School.objects.update_or_create(name=document["school"]["name"], defaults=told)
    dates = {"first_day": date_of(written["first_day"]), "last_day": date_of(written["last_day"])}
    year, is_new = SchoolYear.objects.get_or_create(school=school, name=written["name"], defaults=dates)
    return (year if is_new else begin_year_change(year.pk)), is_new


def _write_year(year: SchoolYear, written: Document) -> None:
    cycle = written.get("cycle", {})
    year.first_day, year.last_day = date_in(written["first_day"]), date_in(written["last_day"])
    year.cycle_kind = cycle.get("kind", "weekdays")
    year.cycle_length = cycle.get("length", DEFAULT_ROTATION)
    year.cycle_starts = date_of(cycle.get("starts"))
    required = written.get("required_days", {})
    year.required_days, year.required_days_source = required.get("days"), required.get("source", "")
    year.loaded_at = timezone.now()
    year.save()


def _put_aside(year: SchoolYear) -> Path:
    """Dump the year as it is into a file of its own, for its owner alone, and say where."""
    folder = Path(settings.DATA_DIR) / "replaced"
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    moment = dt.datetime.now(dt.UTC).strftime("%Y%m%dT%H%M%S%fZ")
    path = folder / f"{_file_name(year.school.name)}-{_file_name(year.name)}-{moment}.json"
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8") as file:
        file.write(dumped(year))
    return path


def _file_name(name: str) -> str:
    return slugify(name)[:60] or "unnamed"


def _clear(year: SchoolYear) -> None:
    """Take everything out of a year but its teams and classrooms, what refers before what is referred to."""
    in_year = {"week__classroom__year": year}
    Reading.objects.filter(rule__year=year).delete()
    WeekChange.objects.filter(**in_year).delete()
    Question.objects.filter(**in_year).delete()
    BlockCredit.objects.filter(block__column__week__classroom__year=year).delete()
    BlockUse.objects.filter(block__column__week__classroom__year=year).delete()
    Block.objects.filter(column__week__classroom__year=year).delete()
    Column.objects.filter(**in_year).delete()
    Week.objects.filter(classroom__year=year).delete()
    DayChangeReach.objects.filter(day_change__year=year).delete()
    TeamBlock.objects.filter(team__year=year).delete()
    for model in (SharedResource, DayChange, BellSchedule, Rule, Activity, CalendarDay, StandingKind, Closure, DayKind):
        model._default_manager.filter(year=year).delete()
