"""When somebody was first: both changes of a block side by side, or what became of a block that is gone."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import wraps
from typing import Any, Concatenate, ParamSpec

from django.db import IntegrityError
from django.http import Http404, HttpResponse

from scheduling import access
from scheduling.block_merge import PARTS
from scheduling.forms.weeks import BlockForm
from scheduling.models import Block, Week
from scheduling.selectors.block_words import block_words
from scheduling.selectors.conflicts import NAMES, Conflict, conflict_of, gone_from
from scheduling.selectors.year_inputs import year_inputs
from scheduling.selectors.year_words import year_words
from scheduling.services.block_writing import Placing, placing_from, placing_of, snapshot
from scheduling.views.answers import form_answer
from teamroom.common.clock import written_clock
from teamroom.common.errors import RuleBroken
from teamroom.common.forms import EditForm
from teamroom.common.http import CONFLICT
from teamroom.common.numbers import whole_number
from teamroom.members.signed_in import MemberRequest

P = ParamSpec("P")
LAST_WORDS = ("blocks_do_not_overlap",)
"""Constraints that the database checks when an edit is committed."""


def with_the_last_word(
    view: Callable[Concatenate[MemberRequest, P], HttpResponse],
) -> Callable[Concatenate[MemberRequest, P], HttpResponse]:
    """Ask once more if the database itself refuses an edit at its end.

    It does if somebody wrote past the locks meanwhile. Nothing was written then, and asked again the
    edit's own check sees what is in the way and says so in the form.
    A team block that others came to hold meanwhile is asked for again too, now with their weeks.
    """

    @wraps(view)
    def asked(request: MemberRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        try:
            return view(request, *args, **kwargs)
        except IntegrityError as refused:
            if getattr(getattr(refused.__cause__, "diag", None), "constraint_name", "") not in LAST_WORDS:
                raise
            return view(request, *args, **kwargs)
        except access.MovedOn:
            return view(request, *args, **kwargs)

    return asked


def wanted(block: Block, asked: Placing, choices: Mapping[str, str]) -> Placing:
    """What a form asks of a block: all of it, or only the parts chosen as one's own.

    RuleBroken for a part in question (`question`, comma-separated) of which nobody's was chosen.
    """
    present = placing_of(block)
    # Not in this form.
    asked = replace(asked, together=present.together)
    if "began" not in choices:
        return asked
    for part in choices.get("question", "").split(","):
        if part in PARTS and choices.get(f"take-{part}") not in ("mine", "theirs"):
            raise RuleBroken(f"{NAMES[part]}: choose whose is to stand.")
    mine = [key for part, keys in PARTS.items() if choices.get(f"take-{part}") == "mine" for key in keys]
    return replace(present, **{key: getattr(asked, key) for key in mine})


def conflict_answer(request: MemberRequest, block: Block, form: EditForm, asked: Placing) -> HttpResponse:
    """Both changes side by side: what it was, what a colleague made of it, what was asked."""
    week = block.column.week
    inputs = year_inputs(week.classroom.year)
    theirs, mine = (snapshot(block.pk, one, inputs) for one in (placing_of(block), asked))
    began = whole_number(request.POST.get("began")) or whole_number(request.POST.get("revision"))
    chosen = {part: request.POST.get(f"take-{part}", "") for part in PARTS}
    context = {
        "told": block_words(block),
        "conflict": conflict_of(week, theirs, mine, began, chosen),
        "asked": hidden_fields(asked),
        "began": began,
        "reason": request.POST.get("reason", ""),
    }
    response = form_answer(request, "block_conflict", week, form, context)
    response.status_code = CONFLICT
    return response


def who_was_first(request: MemberRequest, block: Block) -> Conflict:
    """Who changed a block after the state that a form was made on, and when."""
    week = block.column.week
    now = snapshot(block.pk, placing_of(block), year_inputs(week.classroom.year))
    return conflict_of(week, now, now, whole_number(request.POST.get("revision")))


def gone_answer(request: MemberRequest, block: int) -> HttpResponse:
    """Who took a block away that one was about to change, and the way to put it in again. Http404 if it never was."""
    week = access.week_for_form(request.user, whole_number(request.POST.get("week")))
    gone = gone_from(week, block)
    if gone is None or Block.objects.filter(pk=block).exists():
        raise Http404
    form = _to_put_in_again(request, week, gone.kept)
    response = form_answer(request, "block_gone", week, form, {"gone": gone})
    response.status_code = CONFLICT
    return response


def hidden_fields(asked: Placing) -> list[tuple[str, object]]:
    """A placing as the fields of a block's form."""
    fields: list[tuple[str, object]] = [
        ("place", f"{asked.day}:{asked.kind}"),
        ("start", written_clock(asked.start)),
        ("end", written_clock(asked.end)),
        ("activity", asked.activity),
        ("why", asked.why),
    ]
    for activity, minutes in asked.credits:
        fields += [("credit_activity", activity), ("credit_minutes", minutes)]
    # An empty one too: it says that the form speaks of what the block needs.
    for resource, amount in asked.uses or [("", "")]:
        fields += [("use_resource", resource), ("use_amount", amount)]
    return fields


def _to_put_in_again(request: MemberRequest, week: Week, kept: Mapping[str, Any]) -> BlockForm:
    """The form of a new block: what was asked, and for the rest what the block was."""
    form = BlockForm(words=year_words(week.classroom.year))
    try:
        was = placing_from(dict(kept), year_inputs(week.classroom.year))
    except RuleBroken:
        # The school no longer has something of it: then only what was asked fills the form.
        return form
    typed = {name: request.POST[name] for name in ("place", "start", "end", "activity", "why") if name in request.POST}
    form.initial = {**dict(hidden_fields(was)), "credits": was.credits, "uses": was.uses, **typed}
    return form
