"""Small makers for tests. Nothing in them is random; what a test is about, it says itself."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from allauth.account.models import EmailAddress
from django.db import transaction

from scheduling.access import week_for_editing
from scheduling.models import Activity, BellSchedule, Rule, Week
from scheduling.services import weeks
from scheduling.services.block_writing import Placing
from scheduling.services.compliance import recompute
from scheduling.services.week_edits import Edit
from teamroom.common.clock import minutes_of
from teamroom.dates.models import DayKind, School, SchoolYear
from teamroom.dates.services import begin_year_change
from teamroom.members.models import Classroom, Member, SchoolRole, Team, TeamRole

FIRST_DAY, LAST_DAY = dt.date(2026, 9, 7), dt.date(2026, 10, 30)
ACTIVITIES = ("reading", "math", "science", "pe", "recess", "lunch", "art")


def make_year(name: str = "Fernhollow Elementary", **fields: Any) -> SchoolYear:
    """Eight whole weeks, each school day from 8:00 to 14:30, activities and a minimum day kind. `name` is the school's,
    `named` the year's."""
    school, _ = School.objects.get_or_create(name=name, defaults={"time_zone": "America/Chicago"})
    values = {"name": fields.pop("named", "2026-27"), "first_day": FIRST_DAY, "last_day": LAST_DAY, **fields}
    year = SchoolYear.objects.create(school=school, **values)
    regular = DayKind.objects.create(year=year, key="regular", name="Regular day")
    minimum = DayKind.objects.create(year=year, key="minimum", name="Minimum day")
    Activity.objects.bulk_create(
        Activity(year=year, key=key, name="PE" if key == "pe" else key.title()) for key in ACTIVITIES
    )
    for kind, dismissal in ((regular, "14:30"), (minimum, "12:30")):
        BellSchedule.objects.create(
            year=year, grade="4", kind=kind, start=minutes_of("08:00"), dismissal=minutes_of(dismissal)
        )
    return year


def make_classroom(year: SchoolYear, key: str = "room12", grades: Sequence[str] = ("4",)) -> Classroom:
    team, _ = Team.objects.get_or_create(
        year=year, key=f"grade{grades[0]}", defaults={"name": f"Grade {grades[0]}", "grades": list(grades)}
    )
    return Classroom.objects.create(year=year, team=team, key=key, name=key.title(), grades=list(grades))


def make_member(name: str, **fields: Any) -> Member:
    member = Member.objects.create_user(f"{name.lower()}@school.example", "a long enough phrase", name=name, **fields)
    EmailAddress.objects.create(user=member, email=member.email, primary=True, verified=True)
    return member


def make_teacher(classroom: Classroom, name: str = "Olive") -> Member:
    """Somebody whose own classroom it is."""
    member = make_member(name)
    TeamRole.objects.create(team=classroom.team, member=member, role="teacher")
    classroom.teachers.add(member)
    return member


def make_teammate(team: Team, name: str = "Tamsin", role: str = "teacher") -> Member:
    member = make_member(name)
    TeamRole.objects.create(team=team, member=member, role=role)
    return member


def make_coordinator(school: School, name: str = "Cora", role: str = "coordinator") -> Member:
    member = make_member(name)
    SchoolRole.objects.create(school=school, member=member, role=role)
    return member


def make_rule(year: SchoolYear, key: str, body: dict[str, Any], grades: Sequence[str] = ("4",), **fields: Any) -> Rule:
    values = {"name": key.replace("_", " ").capitalize(), **fields}
    rule = Rule.objects.create(year=year, key=key, grades=list(grades), body=body, **values)
    recompute(begin(year), rules=[rule.pk])
    return rule


def make_week(classroom: Classroom, starts: dt.date = FIRST_DAY) -> Week:
    return Week.objects.create(classroom=classroom, starts=starts)


def placing(
    year: SchoolYear, day: str, start: str, end: str, activity: str, kind: str = "regular", **rest: Any
) -> Placing:
    """`placing(year, "mon", "08:00", "09:00", "math")`; `credits` by key: `{"math": 30, "art": 20}`."""
    ids = dict(Activity.objects.filter(year=year).values_list("key", "pk"))
    credits = tuple((ids[key], minutes) for key, minutes in rest.pop("credits", {}).items())
    return Placing(
        day,
        year.day_kinds.get(key=kind).pk,
        minutes_of(start),
        minutes_of(end),
        ids[activity],
        credits,
        **rest,
    )


@transaction.atomic
def add(week: Week, member: Member, *placed: tuple[str, str, str, str]) -> list[Edit]:
    """Blocks added one after the other, each as (day, start, end, activity)."""
    year = week.classroom.year
    return [
        weeks.add_block(week_for_editing(member, week.pk), member=member, placing=placing(year, *block))
        for block in placed
    ]


@transaction.atomic
def begin(year: SchoolYear) -> SchoolYear:
    """The year with a new revision, after rows were written past the services."""
    return begin_year_change(year.pk)
