"""A week's page that follows what others do: what went stale on it, and who else is there."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_POST, require_safe

from scheduling import access
from scheduling.models import Week
from scheduling.selectors.drafts import in_effect_then
from scheduling.selectors.live_week import OF_THE_YEAR, missed_since, topics_of
from scheduling.selectors.week_sheet import sheet_of, weeks_of
from scheduling.selectors.year_words import day_in_full
from scheduling.services import undoing
from scheduling.views.answers import shown_ledger
from teamroom.common.live import presence
from teamroom.common.live.announcing import classroom_topic
from teamroom.common.numbers import whole_number
from teamroom.dates.selectors import cycle_of
from teamroom.members.signed_in import MemberRequest, signed_in


@require_safe
@signed_in
def stale(request: MemberRequest, week: int) -> HttpResponse:
    """The fragments to draw anew on a page at `?seen=` (the week's revision), `shape` and `topics`; 204 if none."""
    found = access.week_for_reading(request.user, week)
    topics = topics_of(found.classroom)
    asked = request.GET
    if asked.get("topics") == topics and asked.get("seen") == str(found.revision):
        return HttpResponse(status=204)
    return render(request, "scheduling/_stale.html", _stale(request, found, topics))


def _stale(request: MemberRequest, week: Week, topics: str) -> dict[str, Any]:
    sheet, seen = sheet_of(week, versions=weeks_of(week.classroom)), whole_number(request.GET.get("seen"))
    missed = missed_since(week, seen)
    may_edit = access.can_edit_week(request.user, week)
    # What the year changed, such as its bells, can show on every column.
    of_year = request.GET.get("topics", "").partition(" ")[2] != topics.partition(" ")[2]
    # More than the week's own edits: a question on a block, or a draft beside it.
    of_more = _edition(topics) - _edition(request.GET.get("topics", "")) != len(missed.changes)
    # A page that has seen more than there is was shown a database that is no more.
    whole = of_year or missed.too_many or seen > week.revision or request.GET.get("shape") != sheet.shape
    return {
        "sheet": sheet,
        "topics": topics,
        "ledger": shown_ledger(sheet),
        "other": in_effect_then(week),
        "columns": () if whole else sheet.columns if of_more else sheet.columns_at(missed.places(sheet.words)),
        "draw_all": whole,
        "told": [*([OF_THE_YEAR] if of_year else []), *missed.told(sheet.words, request.user)],
        "may_edit": may_edit,
        **(undoing.own_last_edits(week, request.user) if may_edit else {}),
        "oob": True,
    }


def _edition(topics: str) -> int:
    """Where the classroom's topic stands, of `classroom-12:17 year-3:4`."""
    return whole_number(topics.partition(" ")[0].rpartition(":")[2])


@require_POST
@signed_in
def here(request: MemberRequest, classroom: int) -> HttpResponse:
    """Say that one looks at a classroom's week, at `day` of it, and see who else does; with `leaving` that one goes."""
    found = access.classroom_for_reading(request.user, classroom)
    place = classroom_topic(found.pk)
    if "leaving" in request.POST:
        presence.gone(place, request.user.pk)
        return HttpResponse(status=204)
    day = request.POST.get("day", "")
    known = day if day in cycle_of(found.year).day_names else ""
    others = presence.here(place, presence.Present(request.user.pk, request.user.name, known))
    told = [(one.name, day_in_full(one.day) if one.day else "") for one in others]
    return render(request, "scheduling/_here.html", {"told": told})
