"""Whose own a classroom is, and when: co-teachers, and handing a class over from a date."""

import datetime as dt

from django.core.exceptions import ValidationError
from django.db import transaction

from teamroom.common.clock import said_date
from teamroom.common.errors import RuleBroken
from teamroom.common.live.announcing import announce, person_topic
from teamroom.dates.services import check_in_year, hold_year
from teamroom.members.models import Classroom, ClassTeacher, Member

DAY = dt.timedelta(days=1)


@transaction.atomic
def put_on(
    classroom: Classroom, member: Member, *, first_day: dt.date | None = None, last_day: dt.date | None = None
) -> ClassTeacher:
    """Give a class to a member of its team, beside those who have it: all year, or within dates."""
    room = _held(classroom)
    _check_of_team(room, member, field="member")
    return _written(ClassTeacher(classroom=room, member=member), first_day, last_day, field="member")


@transaction.atomic
def change_dates(teaching: ClassTeacher, *, first_day: dt.date | None, last_day: dt.date | None) -> ClassTeacher:
    """Say from when to when somebody teaches a class; without a date, from or to the year's end."""
    _held(teaching.classroom)
    written = _written(teaching, first_day, last_day, field="first_day")
    announce(person_topic(teaching.member_id))
    return written


@transaction.atomic
def take_off(teaching: ClassTeacher, *, last_day: dt.date | None) -> ClassTeacher:
    """Take somebody off a class after a last day; without one, as if they had never taught it."""
    _held(teaching.classroom)
    if last_day is None:
        teaching.delete()
        announce(person_topic(teaching.member_id))
        return teaching
    if teaching.first_day is not None and last_day < teaching.first_day:
        raise RuleBroken(
            f"{teaching.member} takes the class only from {said_date(teaching.first_day)}: "
            "leave the date empty if they never teach it.",
            field="last_day",
        )
    written = _written(teaching, teaching.first_day, last_day, field="last_day")
    announce(person_topic(teaching.member_id))
    return written


@transaction.atomic
def hand_over(teaching: ClassTeacher, member: Member, *, from_day: dt.date) -> ClassTeacher:
    """Hand a class from one teacher to another: the one's last day is the day before the other's first.

    Who takes it over has it as long as who leaves would have had it.
    """
    room = _held(teaching.classroom)
    leaving = teaching.member
    _check_of_team(room, member, field="member")
    check_in_year(room.year, from_day, field="from_day")
    if member == leaving:
        raise RuleBroken(f"Choose somebody else: {leaving} has the class now.", field="member")
    if teaching.first_day is not None and from_day <= teaching.first_day:
        raise RuleBroken(
            f"{leaving} takes the class only from {said_date(teaching.first_day)}: choose a later date.",
            field="from_day",
        )
    if teaching.last_day is not None and from_day > teaching.last_day:
        raise RuleBroken(
            f"{leaving} has the class until {said_date(teaching.last_day)}: "
            f"choose a date up to then, or put {member} on the class instead.",
            field="from_day",
        )
    until, teaching.last_day = teaching.last_day, from_day - DAY
    teaching.save(update_fields=["last_day"])
    following = ClassTeacher(classroom=room, member=member, first_day=from_day, last_day=until)
    kept = _kept(following, field="member")
    announce(person_topic(leaving.pk))
    return kept


def _held(classroom: Classroom) -> Classroom:
    """The classroom for this transaction alone, its year held: edits of its week ask who its teachers are."""
    hold_year(Classroom.objects.filter(pk=classroom.pk).values("year"))
    return Classroom.objects.select_related("year__school", "team").select_for_update(of=("self",)).get(pk=classroom.pk)


def _check_of_team(room: Classroom, member: Member, *, field: str) -> None:
    if room.retired:
        raise RuleBroken(f"{room} is retired: bring it back first.", field=field)
    if not member.is_active or not member.team_roles.filter(team=room.team_id).exists():
        raise RuleBroken(f"Choose somebody of {room.team}.", field=field)


def _written(
    teaching: ClassTeacher, first_day: dt.date | None, last_day: dt.date | None, *, field: str
) -> ClassTeacher:
    for name, date in (("first_day", first_day), ("last_day", last_day)):
        if date is not None:
            check_in_year(teaching.classroom.year, date, field=name)
    if first_day is not None and last_day is not None and last_day < first_day:
        raise RuleBroken("The last day comes before the first.", field="last_day")
    teaching.first_day, teaching.last_day = first_day, last_day
    return _kept(teaching, field=field)


def _kept(teaching: ClassTeacher, *, field: str) -> ClassTeacher:
    """Saved, unless they teach this class on some of the dates already, which the database would refuse."""
    try:
        teaching.validate_constraints()
    except ValidationError as refused:
        raise RuleBroken(f"{teaching.member}: {' '.join(refused.messages)}", field=field) from refused
    teaching.save()
    return teaching
