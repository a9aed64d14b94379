"""Team blocks: let other classrooms hold a block too, and step out of one."""

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.views.decorators.http import require_http_methods

from scheduling import access
from scheduling.forms.team_blocks import ShareForm
from scheduling.forms.weeks import RemoveForm
from scheduling.minutes.figures import listed
from scheduling.models import Block
from scheduling.selectors.block_words import block_words
from scheduling.selectors.edit_clashes import clashes_said
from scheduling.selectors.edit_words import verdicts_elsewhere
from scheduling.selectors.team_blocks import held_with, team_words, ways_in
from scheduling.selectors.year_words import year_words
from scheduling.services import team_blocks
from scheduling.services.week_edits import Edit
from scheduling.views.answers import edited, form_answer, week_url
from scheduling.views.conflicts import with_the_last_word
from scheduling.views.weeks import to_page
from teamroom.common.forms import attempt
from teamroom.members.models import Classroom
from teamroom.members.signed_in import MemberRequest, signed_in

form_methods = require_http_methods(["GET", "HEAD", "POST"])


@form_methods
@signed_in
@with_the_last_word
def share(request: MemberRequest, block: int) -> HttpResponse:
    """Let classrooms of the team hold a block too: what it does in each is shown before the yes."""
    found, rooms = access.block_for_sharing_form(request.user, block)
    if request.method != "POST":
        return _share_form(request, found, rooms, ShareForm())
    form = ShareForm(request.POST)
    with transaction.atomic():
        done = attempt(form, lambda: _share(request, block, form))
    if done is None:
        return _share_form(request, *access.block_for_sharing_form(request.user, block), form)
    messages.success(request, _shared(found, done))
    own = found.column.week
    return to_page(request, week_url(own if access.can_edit_week(request.user, own) else done.change.week))


def _share(request: MemberRequest, block: int, form: ShareForm) -> Edit:
    sharing = access.block_for_sharing(request.user, block, form.rooms)
    revision = form.cleaned_data["revision"]
    return team_blocks.share(sharing, member=request.user, revision=revision, **form.told())


def _share_form(request: MemberRequest, block: Block, rooms: list[Classroom], form: ShareForm) -> HttpResponse:
    ways = ways_in(block, rooms)
    form.offer(ways)
    context = {
        "told": block_words(block),
        "team": team_words(block),
        "barred": [way for way in ways if way.obstacle],
        "ways": [way for way in ways if not way.obstacle],
        "rooms": rooms,
    }
    return form_answer(request, "block_share", block.column.week, form, context)


def _shared(block: Block, edit: Edit) -> str:
    """`Art, Tuesday 9:00-9:40, is held by Room 12 and Room 14 now.`, and what that did there."""
    room, told = block.column.week.classroom, block_words(block)
    joined = [(str(edit.change.week.classroom), edit.readings.pairs)]
    joined += [(str(one.classroom), one.readings.pairs) for one in edit.elsewhere]
    rooms = listed([str(room), *(name for name, _ in joined if name != str(room))])
    words = year_words(room.year)
    verdicts = (*verdicts_elsewhere(joined, words), *clashes_said(edit.change, words))
    return " ".join((f"{told.name}, {told.where}, {told.times}: a team block of {rooms} now.", *verdicts))


@form_methods
@signed_in
@with_the_last_word
def step_out(request: MemberRequest, block: int) -> HttpResponse:
    """Keep a team block as the classroom's own, no longer changed by others."""
    if request.method != "POST":
        found = access.block_for_form(request.user, block)
        return _step_out_form(request, found, RemoveForm(initial={"revision": found.revision}))
    form = RemoveForm(request.POST)
    with transaction.atomic():
        found = access.block_for_editing(request.user, block, alone=True)
        done = attempt(form, lambda: team_blocks.step_out(found, member=request.user, **form.cleaned_data))
    return edited(request, found.column.week, done) if done else _step_out_form(request, found, form)


def _step_out_form(request: MemberRequest, block: Block, form: RemoveForm) -> HttpResponse:
    context = {"told": block_words(block), "team": team_words(block), "left": held_with(block)}
    return form_answer(request, "block_step_out", block.column.week, form, context)
