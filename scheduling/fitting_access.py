"""Fittings as a member may reach them: whoever may edit the classroom's week, and read the week it starts from."""

from django.http import Http404

from scheduling import access
from scheduling.models import Fitting
from teamroom.members.access import require
from teamroom.members.models import Classroom, Member
from teamroom.members.selectors.roles_held import roles_in_classroom


def fitting_for(member: Member, pk: int) -> Fitting:
    """404 for strangers to the classroom or to the source, 403 for readers: what is proposed is its editors' own."""
    related = ("classroom__year__school", "classroom__team", "source__classroom__year__school", "asked_by")
    fitting = Fitting.objects.select_related(*related).filter(pk=pk).first()
    if fitting is None:
        raise Http404
    require(roles_in_classroom(member, fitting.classroom), "edit week")
    if fitting.source is not None:
        require(roles_in_classroom(member, fitting.source.classroom), "read week")
    return fitting


def fitting_for_taking(member: Member, pk: int) -> Fitting:
    """The fitting, its classroom locked and the year held, to make a week of it."""
    fitting = fitting_for(member, pk)
    fitting.classroom = access.classroom_for_editing(member, fitting.classroom_id)
    return fitting


def classroom_for_fitting(member: Member, pk: int) -> Classroom:
    """The classroom, to ask for a fitting of its week: permitted like an edit, nothing locked."""
    classroom = access.classroom_for_reading(member, pk)
    require(roles_in_classroom(member, classroom), "edit week")
    return classroom
