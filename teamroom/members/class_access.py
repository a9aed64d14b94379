"""Classrooms, and who teaches them when, as somebody who manages their team may reach them."""

from django.http import Http404

from teamroom.members.access import team_for
from teamroom.members.models import Classroom, ClassTeacher, Member
from teamroom.members.roles import Deed


def classroom_for(member: Member, pk: int, deed: Deed) -> Classroom:
    """A classroom for somebody who may do a deed in its team; others of its year get 403."""
    classroom = Classroom.objects.select_related("team__year__school", "year__school").filter(pk=pk).first()
    if classroom is None:
        raise Http404
    team_for(member, classroom.team_id, deed)
    return classroom


def teaching_for(member: Member, pk: int, deed: Deed) -> ClassTeacher:
    """Who teaches a class and when, for somebody who may do a deed in its team."""
    teaching = ClassTeacher.objects.select_related("member", "classroom__team", "classroom__year__school")
    found = teaching.filter(pk=pk).first()
    if found is None:
        raise Http404
    team_for(member, found.classroom.team_id, deed)
    return found
