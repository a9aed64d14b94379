"""Weeks and blocks as a member may reach them: 404 for strangers, 403 for readers who would write."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from django.db.models import QuerySet
from django.http import Http404

from scheduling.models import Block, Question, Rule, SentSheet, Week, WeekChange
from scheduling.selectors.team_blocks import held_with, rooms_to_share_with, weeks_beside
from teamroom.common.errors import Denied, Stale
from teamroom.dates.services import hold_year
from teamroom.members.access import YearPlace, require, year_for
from teamroom.members.models import Classroom, Member
from teamroom.members.roles import Deed, Role, may
from teamroom.members.selectors import taught_today
from teamroom.members.selectors.roles_held import roles_in_classroom, roles_in_team


def classroom_for_reading(member: Member, pk: int) -> Classroom:
    classroom = Classroom.objects.select_related("year__school", "team").filter(pk=pk).first()
    if classroom is None:
        raise Http404
    require(roles_in_classroom(member, classroom), "read week")
    return classroom


def classroom_for_form(member: Member, pk: int) -> Classroom:
    """The classroom for showing a form that begins a week of it: permitted like an edit, nothing locked."""
    classroom = classroom_for_reading(member, pk)
    require(roles_in_classroom(member, classroom), "edit week")
    return classroom


def sent_sheet(member: Member, classroom: Classroom, pk: int) -> SentSheet:
    """A sheet that the member themselves sent for the classroom; 404 for anybody else, whoever they are."""
    found = SentSheet.objects.filter(pk=pk, member=member, classroom=classroom).first()
    if found is None:
        raise Http404
    return found


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
    found = _all_locked(pks)
    for week in found:
        require(roles_in_classroom(member, week.classroom), "edit week")
    return found


def _all_locked(pks: Collection[int]) -> list[Week]:
    weeks = Week.objects.filter(pk__in=pks)
    year = hold_year(weeks.values("classroom__year"))
    locked = weeks.select_related("classroom").select_for_update(of=("self", "classroom"))
    found = list(locked.order_by("classroom", "pk"))
    if year is None or {week.pk for week in found} != set(pks):
        raise Http404
    for week in found:
        week.classroom.year = year
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


def block_for_editing(member: Member, pk: int, *, alone: bool = False) -> Block:
    """The block with its column and week, locked and held as `week_for_editing` does.

    The block is read after the lock is held, as who held it before may have changed it. A team
    block brings those of the other classrooms, locked as `weeks_for_editing` locks, unless it is
    to be changed `alone`. MovedOn if others came to hold it meanwhile.
    """
    at = Block.objects.filter(pk=pk).values_list("together", "column__week").first()
    if at is None:
        raise Http404
    if alone or at[0] is None:
        week = _locked(member, Week.objects.filter(pk=at[1]))
        block = _in_week(pk, week)
        if alone or block.together_id is None:
            return block
        raise MovedOn
    weeks = _with_those_beside(pk)
    week = next(week for week in weeks if week.pk == at[1])
    require(roles_in_classroom(member, week.classroom), "edit week")
    block = _in_week(pk, week)
    _bring_those_beside(block, weeks)
    beside = [other.column.week.classroom for other in block.held_with or ()]
    theirs = editable(member, beside)
    block.not_theirs = [room for room in beside if room not in theirs]
    return block


class MovedOn(Stale):
    """A block came to be held by a classroom that was not locked: all is well if it is asked for once more."""

    def __init__(self) -> None:
        super().__init__("The team has changed this block meanwhile: look at it and decide again.")


def _in_week(pk: int, week: Week) -> Block:
    """A block of a week that is locked."""
    block = _blocks().filter(pk=pk, column__week=week).first()
    if block is None:
        raise Http404
    block.column.week = week
    return block


def _with_those_beside(pk: int, others: Collection[int] = ()) -> list[Week]:
    """The weeks of a block and of those that hold with it, and some more, all locked."""
    seen = _blocks().select_related("column__week__classroom__year__school").filter(pk=pk).first()
    if seen is None:
        raise Http404
    beside = [block.column.week_id for block in held_with(seen)]
    return _all_locked({seen.column.week_id, *beside, *others})


def _bring_those_beside(block: Block, weeks: Sequence[Week]) -> None:
    """Give a block those that hold with it, now that no edit can come between."""
    held = {week.pk: week for week in weeks}
    beside = held_with(block)
    if any(other.column.week_id not in held for other in beside):
        raise MovedOn
    for other in beside:
        other.column.week = held[other.column.week_id]
    block.held_with = beside


def block_for_sharing_form(member: Member, pk: int) -> tuple[Block, list[Classroom]]:
    """A block, for showing how others could hold it: it and those classrooms of the team, not yet holding it,
    whose weeks the member may edit. A block that is no team block yet also asks for that of its own week."""
    block = block_for_reading(member, pk)
    own = block.column.week.classroom
    rooms = editable(member, rooms_to_share_with(block))
    if block.together_id is None or not rooms:
        require(roles_in_classroom(member, own), "edit week")
    return block, rooms


def _beside(block: Block, classrooms: Collection[int]) -> list[int]:
    """The weeks of some classrooms that hold together with a block's, by their classrooms."""
    return [week.pk for week in weeks_beside(block.column.week) if week.classroom_id in classrooms]


@dataclass(frozen=True)
class Sharing:
    """A block of a team and the weeks that are to hold it too, all locked."""

    block: Block
    weeks: Sequence[Week]


def block_for_sharing(member: Member, pk: int, classrooms: Collection[int]) -> Sharing:
    """A block, to be held by some classrooms of its team too: their weeks beside its own, locked with
    all that hold it already. Whoever may edit theirs may have them take a team block; to make a
    block one, also its own."""
    seen = block_for_reading(member, pk)
    own = seen.column.week_id
    weeks = _with_those_beside(pk, _beside(seen, classrooms))
    block = _in_week(pk, next(week for week in weeks if week.pk == own))
    _bring_those_beside(block, weeks)
    joining = [week for week in weeks if week.classroom_id in classrooms and week.pk != own]
    if _beside(block, classrooms) != [week.pk for week in joining]:
        raise MovedOn
    holding = {other.column.week_id for other in block.held_with or ()}
    joining = [week for week in joining if week.pk not in holding]
    for week in joining if block.together_id is not None else [block.column.week, *joining]:
        require(roles_in_classroom(member, week.classroom), "edit week")
    return Sharing(block, joining)


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


def editable(member: Member, classrooms: Sequence[Classroom]) -> list[Classroom]:
    """Those of some classrooms of one team whose weeks a member may edit, in two questions."""
    if classrooms and not may(roles_in_team(member, classrooms[0].team), "edit week"):
        own = taught_today(member).filter(classroom__in=classrooms).values_list("classroom", flat=True)
        mine = set(own) if may({"own classroom"}, "edit week") else set()
        return [room for room in classrooms if room.pk in mine]
    return list(classrooms)


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
