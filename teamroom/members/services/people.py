"""Bringing people in, and what they are given to do."""

from django.core.exceptions import ValidationError
from django.db import transaction

from teamroom.common.errors import RuleBroken
from teamroom.dates.models import School
from teamroom.members.models import Classroom, Member, SchoolRole, Team, TeamRole
from teamroom.members.roles import Role


@transaction.atomic
def add_member(*, email: str, name: str, passphrase: str) -> Member:
    """Somebody new who signs in with this address; RuleBroken if somebody already does."""
    try:
        return Member.objects.create_user(email, passphrase, name=name)
    except ValidationError as refused:
        raise RuleBroken(" ".join(refused.messages), field="email") from refused


@transaction.atomic
def give_school_role(member: Member, school: School, role: Role) -> None:
    """Make a member something to a whole school; twice is as once."""
    SchoolRole.objects.get_or_create(member=member, school=school, role=role)


@transaction.atomic
def give_team_role(member: Member, team: Team, role: Role) -> None:
    """Make a member something to a team, in place of what they were to it."""
    TeamRole.objects.update_or_create(member=member, team=team, defaults={"role": role})


@transaction.atomic
def give_classroom(member: Member, classroom: Classroom) -> None:
    """Make a classroom a member's own, beside those who have it already."""
    classroom.teachers.add(member)
