"""Classrooms of a year: made, changed, retired and brought back, or removed where there is nothing to lose."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction

from scheduling.models import DayChange, SpecialistPost, Week
from scheduling.services.classroom_reach import reach_anew
from scheduling.services.compliance import ReadingChanges, recompute
from scheduling.services.team_blocks import leave_team
from teamroom.common.errors import RuleBroken
from teamroom.common.keys import free_key
from teamroom.dates.models import SchoolYear
from teamroom.dates.services import begin_year_change, year_alone
from teamroom.members.models import Classroom, Invitation, Team


@dataclass(frozen=True)
class ClassroomToBe:
    """What a classroom is to be. The first of its grades leads; enrolment and cap are head counts."""

    team: Team
    name: str
    grades: Sequence[str]
    room: str = ""
    enrolment: int | None = None
    cap: int | None = None


@transaction.atomic
def make_classroom(to_be: ClassroomToBe) -> Classroom:
    """A new classroom with a key from its name, reached by what is on the school's and its team's
    calendar, and with its readings."""
    year = begin_year_change(to_be.team.year_id)
    _check(year, to_be)
    key = free_key(to_be.name, year.classrooms.values_list("key", flat=True), otherwise="classroom")
    classroom = Classroom(year=year, key=key)
    _fill(classroom, to_be)
    classroom.save()
    reach_anew(classroom)
    recompute(year, classrooms=[classroom])
    return classroom


@transaction.atomic
def change_classroom(classroom: Classroom, to_be: ClassroomToBe) -> ReadingChanges:
    """Make a classroom what it is to be. Its readings are worked out anew where its grades, their
    order or its team are others; a name, a room or a head count touches none of them."""
    touched = list(to_be.grades) != classroom.grades or to_be.team.pk != classroom.team_id
    year = begin_year_change(classroom.year_id) if touched else year_alone(classroom.year_id)
    _check(year, to_be, but=classroom)
    if to_be.team.pk != classroom.team_id:
        leave_team(classroom)
    _fill(classroom, to_be)
    classroom.year = year
    classroom.save()
    if not touched:
        return ReadingChanges()
    reach_anew(classroom)
    return recompute(year, classrooms=[classroom])


@transaction.atomic
def retire_classroom(classroom: Classroom) -> None:
    """Take a classroom out of the year's lists; its weeks and readings stay, and stay current."""
    year_alone(classroom.year_id)
    classroom.retired = True
    classroom.save(update_fields=["retired"])


@transaction.atomic
def bring_classroom_back(classroom: Classroom) -> None:
    """Put a retired classroom back into the lists; RuleBroken while its team is retired."""
    year_alone(classroom.year_id)
    if classroom.team.retired:
        raise RuleBroken(f"{classroom.team} is retired: bring the team back first, and {classroom} with it.")
    classroom.retired = False
    classroom.save(update_fields=["retired"])


@transaction.atomic
def remove_classroom(classroom: Classroom) -> None:
    """Take away a classroom that has no week and that nothing else names; otherwise RuleBroken."""
    begin_year_change(classroom.year_id)
    kept = why_kept(classroom)
    if kept:
        raise RuleBroken(kept)
    classroom.delete()


def why_kept(classroom: Classroom) -> str:
    """Why a classroom cannot be removed, with what to do instead; empty if it can."""
    if Week.objects.filter(classroom=classroom).exists():
        return f"{classroom} has a week: retire it instead, which keeps the week and its minutes."
    change = DayChange.objects.filter(classrooms=classroom).order_by("date").first()
    if change is not None:
        return (
            f"{change.name} on {change.date:%d %b %Y} names {classroom}: retire it instead, or lift that change first."
        )
    post = SpecialistPost.objects.filter(classrooms=classroom).select_related("member", "activity").first()
    if post is not None:
        return f"{post.member} teaches {post.activity} there: change that post first, or retire the classroom instead."
    asked = Invitation.objects.filter(classroom=classroom, accepted_at=None, revoked_at=None).first()
    if asked is not None:
        return f"An open invitation to {asked.email} gives {classroom}: revoke it first."
    return ""


def _fill(classroom: Classroom, to_be: ClassroomToBe) -> None:
    classroom.team, classroom.name, classroom.grades = to_be.team, to_be.name, list(to_be.grades)
    classroom.room, classroom.enrolment, classroom.cap = to_be.room, to_be.enrolment, to_be.cap


def _check(year: SchoolYear, to_be: ClassroomToBe, but: Classroom | None = None) -> None:
    if to_be.team.retired and (but is None or but.team_id != to_be.team.pk):
        raise RuleBroken(f"{to_be.team} is retired: bring it back first, or choose another team.", field="team")
    named = year.classrooms.filter(name__iexact=to_be.name)
    same = (named.exclude(pk=but.pk) if but else named).first()
    if same is not None:
        instead = "bring it back, or choose another name" if same.retired else "choose another name"
        state = "is retired" if same.retired else f"is a classroom of {same.team} already"
        raise RuleBroken(f"{same} {state}: {instead}.", field="name")
