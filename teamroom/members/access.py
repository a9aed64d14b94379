"""Fetching is permitting: what a member may see is found, anything else is as if it were not there."""

from django.db.models import CharField, Value
from django.http import Http404

from teamroom.common.errors import Denied
from teamroom.members.models import Classroom, Member, SchoolRole, TeamRole
from teamroom.members.roles import Deed, Role, may


def roles_in_classroom(member: Member, classroom: Classroom) -> set[Role]:
    """Every role a member holds towards a classroom: of its school, of its team, of its own."""
    school = SchoolRole.objects.filter(member=member, school=classroom.year.school_id).values_list("role")
    team = TeamRole.objects.filter(member=member, team=classroom.team_id).values_list("role")
    own = Classroom.teachers.through.objects.filter(member=member, classroom=classroom)
    owned = own.values_list(Value("own classroom", output_field=CharField()))
    # One query for all three, as every page and every edit asks.
    found = {role for (role,) in school.union(team, owned, all=True)}
    return found  # type: ignore[return-value]  # check constraints admit no other word


def require(roles: set[Role], deed: Deed) -> None:
    """404 for who has no part in it, 403 for who may look but not do this."""
    if not roles:
        raise Http404
    if not may(roles, deed):
        raise Denied(deed)
