"""Taking back one's own last edits of a week, and doing them again."""

from collections.abc import Callable

from django.db import transaction
from django.http import HttpResponse
from django.views.decorators.http import require_POST

from scheduling import access
from scheduling.models import Week
from scheduling.services import undoing
from scheduling.services.week_edits import Edit
from scheduling.views.answers import edited, refusal
from scheduling.views.conflicts import with_the_last_word
from teamroom.common.errors import RuleBroken, Stale
from teamroom.common.http import CONFLICT, UNPROCESSABLE
from teamroom.common.numbers import whole_number
from teamroom.members.signed_in import MemberRequest, signed_in


@require_POST
@signed_in
@with_the_last_word
def undo(request: MemberRequest, week: int) -> HttpResponse:
    """Take back one's own latest edit of the week."""
    return _back_or_forth(request, week, undoing.undo)


@require_POST
@signed_in
@with_the_last_word
def redo(request: MemberRequest, week: int) -> HttpResponse:
    """Do again what one took back last."""
    return _back_or_forth(request, week, undoing.redo)


def _back_or_forth(request: MemberRequest, week: int, deed: Callable[..., Edit]) -> HttpResponse:
    change = whole_number(request.POST.get("change", ""))
    with transaction.atomic():
        found, others = _locked(request, week, change)
        try:
            edit = deed(found, member=request.user, change=change, held=others)
        except RuleBroken as broken:
            status = CONFLICT if isinstance(broken, Stale) else UNPROCESSABLE
            return refusal(request, found, broken.message, status)
    return edited(request, found, edit)


def _locked(request: MemberRequest, week: int, change: int) -> tuple[Week, list[Week]]:
    """The week, and those of other classrooms that the edit meant changed with it."""
    weeks = undoing.weeks_of(week, change, request.user)
    if not weeks:
        return access.week_for_editing(request.user, week), []
    held = access.weeks_for_editing(request.user, weeks)
    return next(one for one in held if one.pk == week), held
