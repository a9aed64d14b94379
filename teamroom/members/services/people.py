"""Bringing people in, and what they are given to do."""

from django.db import transaction

from teamroom.common.errors import RuleBroken
from teamroom.common.live.announcing import announce, person_topic
from teamroom.dates.models import School
from teamroom.members.models import Classroom, Member, SchoolRole, Team, TeamRole
from teamroom.members.roles import Role
from teamroom.members.services.accounts import open_account
from teamroom.members.services.withdrawing import withdraw_unbacked


@transaction.atomic
def add_member(*, email: str, name: str, passphrase: str | None) -> Member:
    """Somebody new, whose address whoever runs the installation vouches for; RuleBroken if somebody has it already."""
    return open_account(email=email, name=name, passphrase=passphrase, verified=True)


@transaction.atomic
def give_school_role(member: Member, school: School, role: Role) -> None:
    """Make a member something to a whole school; twice is as once."""
    SchoolRole.objects.get_or_create(member=member, school=school, role=role)


@transaction.atomic
def take_school_role(member: Member, school: School, role: Role) -> int:
    """Take a role in a school away again: how many open invitations of theirs went with it.

    RuleBroken where it would leave the school without an administrator who can sign in.
    """
    hold_administrators([school.pk])
    if role == "administrator" and member.is_active:
        check_another_administrator(school, member)
    SchoolRole.objects.filter(member=member, school=school, role=role).delete()
    withdrawn = withdraw_unbacked(member, school)
    announce(person_topic(member.pk))
    return withdrawn


@transaction.atomic
def give_team_role(member: Member, team: Team, role: Role) -> TeamRole:
    """Make a member something to a team, in place of what they were to it."""
    if team.retired:
        raise RuleBroken(f"{team} is retired and takes nobody in. Choose another team.", field="team")
    led = TeamRole.objects.filter(member=member, team=team, role="lead").exists()
    given, _ = TeamRole.objects.update_or_create(member=member, team=team, defaults={"role": role})
    if led and role != "lead":
        withdraw_unbacked(member, team.year.school)
    return given


@transaction.atomic
def take_team_role(member: Member, team: Team) -> int:
    """Take somebody out of a team: how many open invitations of theirs went with it."""
    TeamRole.objects.filter(member=member, team=team).delete()
    withdrawn = withdraw_unbacked(member, team.year.school)
    announce(person_topic(member.pk))
    return withdrawn


@transaction.atomic
def give_classroom(member: Member, classroom: Classroom) -> None:
    """Make a classroom a member's own, beside those who have it already."""
    classroom.teachers.add(member)


def hold_administrators(schools: list[int]) -> None:
    """Until the transaction ends nobody else takes an administrator's role or closes their account there."""
    # Always in one order, or two who hold several could wait for each other.
    list(School.objects.select_for_update(no_key=True).filter(pk__in=schools).order_by("pk"))


def check_another_administrator(school: School, leaving: Member) -> None:
    """Raise RuleBroken where a school would be left without an administrator; it must be held."""
    others = SchoolRole.objects.filter(school=school, role="administrator", member__is_active=True)
    if others.filter(member=leaving).exists() and not others.exclude(member=leaving).exists():
        raise RuleBroken(
            f"{leaving} is the only administrator of {school}. Make somebody else an administrator first.", field="role"
        )
