"""Who teaches a class, by date, and who of its team could."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import F

from teamroom.common.clock import said_date
from teamroom.members.models import Classroom, ClassTeacher, Member


@dataclass(frozen=True, slots=True)
class TeachingLine:
    """Somebody who teaches a class, with the dates in words; `when` is now, later or earlier."""

    pk: int
    name: str
    said: str
    when: str


def teaching_lines(classroom: Classroom) -> list[TeachingLine]:
    """Everybody who teaches, will teach or has taught a class, in order of time."""
    today = classroom.year.school.today()
    rows = classroom.class_teachers.select_related("member")
    return [
        TeachingLine(row.pk, row.member.name, dates_said(row), _when(row, today))
        for row in rows.order_by(F("first_day").asc(nulls_first=True), "member__name")
    ]


def may_take_class(classroom: Classroom) -> list[tuple[Member, str]]:
    """The members of a class's team, with what they are to it."""
    roles = classroom.team.roles.filter(member__is_active=True).select_related("member")
    return [(role.member, role.role) for role in roles.order_by("member__name")]


def dates_said(row: ClassTeacher) -> str:
    if row.first_day and row.last_day:
        return f"{said_date(row.first_day)} to {said_date(row.last_day)}"
    if row.first_day:
        return f"from {said_date(row.first_day)}"
    return f"until {said_date(row.last_day)}" if row.last_day else "all year"


def _when(row: ClassTeacher, today: dt.date) -> str:
    if row.first_day is not None and row.first_day > today:
        return "later"
    return "earlier" if row.last_day is not None and row.last_day < today else "now"
