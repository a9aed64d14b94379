"""Weeks and blocks as a member may reach them: 404 for strangers, 403 for readers who would write."""

from collections.abc import Collection

from django.db.models import QuerySet
from django.http import Http404

from scheduling.models import Block, Question, Rule, Week, WeekChange
from teamroom.common.errors import Denied
from teamroom.dates.services import hold_year
from teamroom.members.access import YearPlace, require, roles_in_classroom, year_for
from teamroom.members.models import Classroom, Member
from teamroom.members.roles import Deed, Role, may


def classroom_for_reading(member: Member, pk: int) -> Classroom:
    classroom = Classroom.objects.select_related("year__school", "team").filter(pk=pk).first()
    if classroom is None:
        raise Http404
    require(roles_in_classroom(member, classroom), "read week")
    return classroom


def week_for_reading(member: Member, pk: int) -> Week:
    week = _weeks().filter(pk=pk).first()
    if week is None:
        raise Http404
    require(roles_in_classroom(member, week.classroom), "read week")
    return week


def week_for_editing(member: Member, pk: int) -> Week:
    """The week, its classroom locked and its year held: readings depend on all of a classroom's
    weeks and on the year, so edits of a classroom take turns and none meets half a change."""
    return _locked(member, Week.objects.filter(pk=pk))


def weeks_for_editing(member: Member, pks: Collection[int]) -> list[Week]:
    """Weeks of several classrooms for one deed, all locked as `week_for_editing` locks one, in the
    order of their classrooms; none if one of them is not there or may not be edited."""
    weeks = Week.objects.filter(pk__in=pks)
    year = hold_year(weeks.values("classroom__year"))
    locked = weeks.select_related("classroom").select_for_update(of=("self", "classroom"))
    found = list(locked.order_by("classroom", "pk"))
    if year is None or {week.pk for week in found} != set(pks):
        raise Http404
    for week in found:
        week.classroom.year = year
        require(roles_in_classroom(member, week.classroom), "edit week")
    return found


def week_for_form(member: Member, pk: int) -> Week:
    """The week for showing a form that may edit it: permitted like an edit, nothing locked."""
    week = week_for_reading(member, pk)
    require(roles_in_classroom(member, week.classroom), "edit week")
    return week


def block_for_form(member: Member, pk: int) -> Block:
    """The block for showing a form, as `week_for_form`."""
    block = block_for_reading(member, pk)
    require(roles_in_classroom(member, block.column.week.classroom), "edit week")
    return block


def classroom_for_editing(member: Member, pk: int) -> Classroom:
    """The classroom, locked and its year held, to begin or date its weeks."""
    classrooms = Classroom.objects.filter(pk=pk)
    year = hold_year(classrooms.values("year"))
    found = classrooms.select_related("team").select_for_update(of=("self",)).first()
    if year is None or found is None:
        raise Http404
    found.year = year
    require(roles_in_classroom(member, found), "edit week")
    return found


def block_for_editing(member: Member, pk: int) -> Block:
    """The block with its column and week, locked and held as `week_for_editing` does.

    The block is read after the lock is held, as who held it before may have changed it.
    """
    week = _locked(member, Week.objects.filter(columns__blocks=pk))
    block = _blocks().filter(pk=pk).first()
    if block is None:
        raise Http404
    block.column.week = week
    return block


def block_for_reading(member: Member, pk: int) -> Block:
    block = _blocks().filter(pk=pk).first()
    if block is None:
        raise Http404
    block.column.week = week_for_reading(member, block.column.week_id)
    return block


def change_for_reason(member: Member, pk: int) -> WeekChange:
    """A change, for saying why it was made: only whoever made it may."""
    change = WeekChange.objects.filter(pk=pk).first()
    if change is None:
        raise Http404
    change.week = week_for_reading(member, change.week_id)
    if change.member_id != member.pk:
        raise Denied("say why somebody else changed it")
    return change


def block_for_asking(member: Member, pk: int) -> Block:
    """The block, for asking about it: whoever may read the week may."""
    block = block_for_reading(member, pk)
    require(roles_in_classroom(member, block.column.week.classroom), "ask about week")
    return block


def question_for_reading(member: Member, pk: int) -> Question:
    question = Question.objects.select_related("asked_by", "settled_by").filter(pk=pk).first()
    if question is None:
        raise Http404
    question.week = week_for_reading(member, question.week_id)
    return question


def question_for_answering(member: Member, pk: int) -> Question:
    """The question, its row locked, for writing under it."""
    question = Question.objects.select_for_update().filter(pk=pk).first()
    if question is None:
        raise Http404
    question.week = week_for_reading(member, question.week_id)
    require(roles_in_classroom(member, question.week.classroom), "ask about week")
    return question


def question_for_settling(member: Member, pk: int) -> Question:
    """The question, its row locked: whoever asked it may settle it, and who may edit the week."""
    question = question_for_answering(member, pk)
    if question.asked_by_id != member.pk:
        require(roles_in_classroom(member, question.week.classroom), "edit week")
    return question


def question_for_withdrawing(member: Member, pk: int) -> Question:
    question = question_for_answering(member, pk)
    if question.asked_by_id != member.pk:
        raise Denied("withdraw somebody else's question")
    return question


def can_settle(member: Member, question: Question) -> bool:
    """What `question_for_settling` asks, for showing the way to it."""
    return question.asked_by_id == member.pk or can_edit_week(member, question.week)


def can_edit_week(member: Member, week: Week) -> bool:
    """The question `week_for_editing` asks, for showing the way to it."""
    return can_edit_classroom(member, week.classroom)


def can_edit_classroom(member: Member, classroom: Classroom) -> bool:
    roles: set[Role] = roles_in_classroom(member, classroom)
    return may(roles, "edit week")


def _weeks() -> QuerySet[Week]:
    return Week.objects.select_related("classroom__year__school", "classroom__team")


def _blocks() -> QuerySet[Block]:
    return Block.objects.select_related("column__kind", "activity").prefetch_related("credits", "uses")


def _locked(member: Member, weeks: QuerySet[Week]) -> Week:
    year = hold_year(weeks.values("classroom__year"))
    # An edit asks for neither the school nor the team, and every joined row costs it time.
    week = weeks.select_related("classroom").select_for_update(of=("self", "classroom")).first()
    if year is None or week is None:
        raise Http404
    week.classroom.year = year
    require(roles_in_classroom(member, week.classroom), "edit week")
    return week


def rule_for(member: Member, year: int, pk: int, deed: Deed) -> tuple[YearPlace, Rule]:
    """A rule of a year, for somebody who may do a deed in the year."""
    place = year_for(member, year, deed)
    rule = Rule.objects.filter(year=place.year, pk=pk).first()
    if rule is None:
        raise Http404
    return place, rule
