"""Invitations stand as long as whoever made them may give what they give."""

from django.utils import timezone

from teamroom.dates.models import School
from teamroom.members.models import Classroom, Invitation, Member, Team
from teamroom.members.roles import may
from teamroom.members.selectors.roles_held import roles_in_school, roles_in_team


def may_give(
    member: Member, school: School, *, school_role: str, team: Team | None, classroom: Classroom | None
) -> bool:
    """Whether somebody may let others in to this much: a lead to their own team and its classrooms."""
    if not member.is_active:
        return False
    if may(roles_in_school(member, school), "manage people"):
        return True
    if school_role or team is None or (classroom is not None and classroom.team_id != team.pk):
        return False
    return may(roles_in_team(member, team), "manage team")


def withdraw_unbacked(member: Member, school: School | None = None) -> int:
    """Take back what somebody's open invitations they may no longer give: how many.

    Otherwise who has lost a role could give it back to themselves by a link they kept.
    """
    mine = Invitation.objects.select_for_update(of=("self",)).filter(
        invited_by=member, accepted_at=None, revoked_at=None, **({} if school is None else {"school": school})
    )
    unbacked = [
        row.pk
        for row in mine.select_related("school", "team__year__school", "classroom")
        if not may_give(member, row.school, school_role=row.school_role, team=row.team, classroom=row.classroom)
    ]
    return Invitation.objects.filter(pk__in=unbacked).update(revoked_at=timezone.now())
