"""What the forms of the calendar offer to choose from."""

import datetime as dt
from dataclasses import dataclass

from scheduling.models import Activity
from teamroom.dates.calendar_maths import REGULAR, WEEKDAYS
from teamroom.dates.models import School, SchoolYear

Labelled = list[tuple[int, str]]


@dataclass(frozen=True)
class Choices:
    """A year's activities, teams and classrooms, by id and name; retired ones are not offered."""

    activities: Labelled
    teams: Labelled
    classrooms: Labelled


def change_choices(year: SchoolYear) -> Choices:
    """What a day change can be for, and can credit."""
    teams = year.teams.filter(retired=False).order_by("name")
    rooms = year.classrooms.filter(retired=False).order_by("team__name", "name", "key")
    return Choices(
        activities=list(Activity.objects.filter(year=year).order_by("pk").values_list("pk", "name")),
        teams=[(team.pk, str(team)) for team in teams],
        classrooms=[(room.pk, str(room)) for room in rooms],
    )


def kind_choices(year: SchoolYear, date: dt.date) -> tuple[list[tuple[str, str]], str]:
    """The day kinds by key and name, the regular one first; and what the date's weekday usually is."""
    kinds = sorted(year.day_kinds.order_by("pk").values_list("key", "name"), key=lambda kind: kind[0] != REGULAR)
    names = dict(kinds)
    standing = dict(year.standing_kinds.values_list("weekday", "kind__key"))
    if date.weekday() > 4:
        return kinds, "no school"
    return kinds, names.get(standing.get(WEEKDAYS[date.weekday()], REGULAR), "")


def schools_with_years(first: dt.date, last: dt.date) -> dict[int, SchoolYear]:
    """Of each school the year that holds all of a span of dates, by the school's id; none where there is none."""
    years = SchoolYear.objects.filter(first_day__lte=first, last_day__gte=last).select_related("school")
    return {year.school_id: year for year in years.order_by("school__name", "pk")}


def school_choices() -> Labelled:
    """Every school that has a year, by id and name."""
    return list(School.objects.filter(years__isnull=False).distinct().order_by("name").values_list("pk", "name"))
