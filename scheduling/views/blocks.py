"""Blocks: add, look at and change, move, split, remove. Each verb has its own address and works as a plain form."""

from dataclasses import replace
from typing import Any

from django.db import transaction
from django.http import Http404, HttpResponse
from django.views.decorators.http import require_http_methods

from scheduling import access
from scheduling.forms.weeks import BlockForm, PlaceForm, RemoveForm, SplitForm
from scheduling.models import Block, Week
from scheduling.selectors.block_words import block_words, places_of
from scheduling.selectors.questions import questions_of
from scheduling.selectors.team_blocks import rooms_to_share_with, team_words
from scheduling.selectors.year_words import year_words
from scheduling.services import weeks
from scheduling.services.block_writing import Placing, placing_of
from scheduling.services.team_blocks import not_theirs_said
from scheduling.services.week_edits import Edit
from scheduling.views.answers import edited, form_answer, refusal
from scheduling.views.conflicts import conflict_answer, gone_answer, wanted, who_was_first, with_the_last_word
from teamroom.common.forms import EditForm, attempt
from teamroom.common.http import is_fragment
from teamroom.members.signed_in import MemberRequest, signed_in

form_methods = require_http_methods(["GET", "HEAD", "POST"])


def _block_form(week: Week, data: Any = None, **initial: Any) -> BlockForm:
    form = BlockForm(data, words=year_words(week.classroom.year), initial=initial)
    if data is None:
        form.offer(places_of(week))
    return form


@form_methods
@signed_in
@with_the_last_word
def add(request: MemberRequest, week: int) -> HttpResponse:
    """Place a new block; `?place=`, `start` and `end` fill the form."""
    if request.method != "POST":
        found = access.week_for_form(request.user, week)
        asked = {name: request.GET[name] for name in ("place", "start", "end") if name in request.GET}
        return form_answer(request, "block_add", found, _block_form(found, **asked), {})
    with transaction.atomic():
        found = access.week_for_editing(request.user, week)
        form = _block_form(found, request.POST)
        edit = attempt(form, lambda: weeks.add_block(found, member=request.user, placing=form.placing))
    if edit:
        return edited(request, found, edit)
    form.offer(places_of(found))
    return form_answer(request, "block_add", found, form, {})


@form_methods
@signed_in
@with_the_last_word
def edit(request: MemberRequest, block: int) -> HttpResponse:
    """A block: its form for who may edit it, its particulars for who may look."""
    if request.method != "POST":
        return _shown(request, access.block_for_reading(request.user, block))
    with transaction.atomic():
        held = _for_editing(request, block)
        if held is None:
            return gone_answer(request, block)
        found = held
        week = found.column.week
        form = _block_form(week, request.POST)
        # A refusal takes its field out of what the form holds.
        asked = wanted(found, _asked(found, form), {}) if form.is_valid() else None
        done = attempt(form, lambda: _change(request, found, form))
    if done:
        return edited(request, week, done)
    if asked and (form.stale or "began" in request.POST):
        return conflict_answer(request, found, form, asked)
    return _refused(request, "block_edit", found, form)


def _change(request: MemberRequest, block: Block, form: BlockForm) -> Edit:
    told, placing = form.cleaned_data, wanted(block, _asked(block, form), request.POST)
    revision, reason = told["revision"] or 0, told["reason"]
    return weeks.change_block(block, member=request.user, revision=revision, placing=placing, reason=reason)


def _asked(block: Block, form: BlockForm) -> Placing:
    """What the form asks; what the block needs of shared resources stays where the form says nothing of it."""
    return form.placing if form.says_uses else replace(form.placing, uses=placing_of(block).uses)


def _for_editing(request: MemberRequest, block: int) -> Block | None:
    """The block, locked; None if it is gone and the request says out of which week."""
    try:
        return access.block_for_editing(request.user, block)
    except Http404:
        if "week" in request.POST:
            return None
        raise


def _shown(request: MemberRequest, block: Block) -> HttpResponse:
    week = block.column.week
    context = {**_told(request, block), "questions": questions_of(block)}
    if not access.can_edit_week(request.user, week):
        return form_answer(request, "block", week, None, context)
    placing = placing_of(block)
    form = _block_form(
        week,
        place=f"{placing.day}:{placing.kind}",
        start=placing.start,
        end=placing.end,
        activity=placing.activity,
        credits=placing.credits,
        why=placing.why,
        uses=placing.uses,
        revision=block.revision,
    )
    return form_answer(request, "block_edit", week, form, context)


def _told(request: MemberRequest, block: Block) -> dict[str, Any]:
    """The block in words, with whom it is held, and which of them the reader may not change."""
    team, may_edit = team_words(block), access.can_edit_week(request.user, block.column.week)
    theirs = access.editable(request.user, team.rooms) if may_edit else team.rooms
    barred = [room for room in team.rooms if room not in theirs]
    return {
        "told": block_words(block),
        "team": team,
        "barred": not_theirs_said(barred) if barred else "",
        "may_step_out": may_edit,
        "may_share": team.more and (may_edit or bool(access.editable(request.user, rooms_to_share_with(block)))),
    }


def _refused(request: MemberRequest, template: str, block: Block, form: EditForm) -> HttpResponse:
    """The form again, with what the block is now beside what was asked if somebody was first."""
    week = block.column.week
    if isinstance(form, PlaceForm):
        form.offer(places_of(week))
    context = {**_told(request, block), "stale": form.stale, "questions": questions_of(block)}
    if form.stale:
        context["conflict"] = who_was_first(request, block)
    return form_answer(request, template, week, form, context)


@form_methods
@signed_in
@with_the_last_word
def move(request: MemberRequest, block: int) -> HttpResponse:
    """Give a block another day or other times; what the grid sends when a block is dragged."""
    if request.method != "POST":
        found = access.block_for_form(request.user, block)
        return form_answer(request, "block_move", found.column.week, _place_form(found), _told(request, found))
    with transaction.atomic():
        held = _for_editing(request, block)
        if held is None:
            return gone_answer(request, block)
        found = held
        week = found.column.week
        form = _place_form(found, request.POST)
        done = attempt(form, lambda: _move(request, found, form))
    if done:
        return edited(request, week, done)
    if form.stale:
        return conflict_answer(request, found, form, _placed(found, form))
    if is_fragment(request) and "dragged" in request.POST:
        return refusal(request, week, " ".join(form.faults), step_out=found.pk if found.not_theirs else None)
    return _refused(request, "block_move", found, form)


def _place_form(block: Block, data: Any = None) -> PlaceForm:
    week, column = block.column.week, block.column
    initial = {"place": f"{column.day}:{column.kind_id}", "start": block.start, "end": block.end}
    form = PlaceForm(data, words=year_words(week.classroom.year), initial={**initial, "revision": block.revision})
    if data is None:
        form.offer(places_of(week))
    return form


def _move(request: MemberRequest, block: Block, form: PlaceForm) -> Edit:
    placed, told = _placed(block, form), form.cleaned_data
    return weeks.move_block(
        block,
        member=request.user,
        revision=told["revision"] or 0,
        day=placed.day,
        kind=placed.kind,
        start=placed.start,
        end=placed.end,
        reason=told["reason"],
    )


def _placed(block: Block, form: PlaceForm) -> Placing:
    """The block where the form puts it."""
    (day, kind), told = form.column, form.cleaned_data
    return placing_of(block, day=day, kind=kind, start=told["start"], end=told["end"])


@form_methods
@signed_in
@with_the_last_word
def split(request: MemberRequest, block: int) -> HttpResponse:
    """Make two adjacent blocks of one."""
    if request.method != "POST":
        found = access.block_for_form(request.user, block)
        middle = found.start + (found.end - found.start) // 10 * 5
        form = SplitForm(initial={"at": middle or found.start, "revision": found.revision})
        return form_answer(request, "block_split", found.column.week, form, _told(request, found))
    form = SplitForm(request.POST)
    with transaction.atomic():
        held = _for_editing(request, block)
        if held is None:
            return gone_answer(request, block)
        found = held
        week = found.column.week
        done = attempt(form, lambda: weeks.split_block(found, member=request.user, **form.cleaned_data))
    return edited(request, week, done) if done else _refused(request, "block_split", found, form)


@form_methods
@signed_in
@with_the_last_word
def remove(request: MemberRequest, block: int) -> HttpResponse:
    """Take a block out of the week."""
    if request.method != "POST":
        found = access.block_for_form(request.user, block)
        form = RemoveForm(initial={"revision": found.revision})
        return form_answer(request, "block_remove", found.column.week, form, _told(request, found))
    form = RemoveForm(request.POST)
    with transaction.atomic():
        held = _for_editing(request, block)
        if held is None:
            return gone_answer(request, block)
        found = held
        week = found.column.week
        done = attempt(form, lambda: weeks.remove_block(found, member=request.user, **form.cleaned_data))
    return edited(request, week, done) if done else _refused(request, "block_remove", found, form)
