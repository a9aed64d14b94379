"""What a deed of the calendar would do or did: the preview, its yes, how far it is, its outcome, its undo."""

from collections.abc import Callable

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils.cache import patch_vary_headers
from django.views.decorators.http import require_POST, require_safe

from scheduling.models import CalendarWork
from scheduling.services import calendar_work
from scheduling.services.deeds import Deed, deed_from
from teamroom.common.errors import RuleBroken, Stale
from teamroom.common.http import is_fragment
from teamroom.members.access import YearPlace, year_for
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page


@require_safe
@signed_in
def work(request: MemberRequest, year: int, work: int) -> HttpResponse:
    """A deed that was asked for: what it does, how far it is, or what came of it."""
    place, found = _work(request, year, work)
    template = "scheduling/_calendar_work.html" if is_fragment(request) else "scheduling/calendar_work.html"
    context = {"work": found, "deed": deed_from(found.asked["deed"]), "here": "calendar"}
    response = year_page(request, place, template, context)
    patch_vary_headers(response, ["HX-Request"])
    return response


@require_POST
@signed_in
def yes(request: MemberRequest, year: int, work: int) -> HttpResponse:
    """Do what was previewed, exactly so."""
    place, found = _work(request, year, work)
    return _acted(request, place, lambda: calendar_work.say_yes(found, request.user), deed_from(found.asked["deed"]))


@require_POST
@signed_in
def undo(request: MemberRequest, year: int, work: int) -> HttpResponse:
    """Take back what was done."""
    place, found = _work(request, year, work)
    undone = deed_from((found.outcome or {}).get("undo") or found.asked["deed"])
    return _acted(request, place, lambda: calendar_work.take_back(found, request.user), undone)


@require_POST
@signed_in
def again(request: MemberRequest, year: int, work: int) -> HttpResponse:
    """Try a deed out once more, on the calendar as it is now."""
    place, found = _work(request, year, work)
    return _tried(request, place, deed_from(found.asked["deed"]))


def _acted(request: MemberRequest, place: YearPlace, act: Callable[[], CalendarWork], deed: Deed) -> HttpResponse:
    try:
        done = act()
    except Stale:
        messages.warning(
            request, "Something was changed in the meantime, so nothing was done yet: this is what it does now."
        )
        return _tried(request, place, deed)
    except RuleBroken as broken:
        return _refused(request, place, deed, broken)
    return redirect("scheduling:calendar-work", place.year.pk, done.pk)


def _tried(request: MemberRequest, place: YearPlace, deed: Deed) -> HttpResponse:
    try:
        preview = calendar_work.try_out(place.year, deed, request.user)
    except RuleBroken as broken:
        return _refused(request, place, deed, broken)
    return redirect("scheduling:calendar-work", place.year.pk, preview.pk)


def _refused(request: MemberRequest, place: YearPlace, deed: Deed, broken: RuleBroken) -> HttpResponse:
    messages.error(request, f"{deed.title}: nothing was changed. {broken.message}")
    if place.year.first_day <= deed.date <= place.year.last_day:
        return redirect("scheduling:calendar-day", place.year.pk, deed.date)
    return redirect("scheduling:calendar", place.year.pk)


def _work(request: MemberRequest, year: int, pk: int) -> tuple[YearPlace, CalendarWork]:
    place = year_for(request.user, year, "set up year")
    found = CalendarWork.objects.select_related("year__school", "asked_by").filter(year=place.year, pk=pk).first()
    if found is None:
        raise Http404
    return place, found
