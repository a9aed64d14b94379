"""Dates closed in all schools at once, for who may: the form, the preview school by school, the yes, the undo."""

import uuid
from collections.abc import Callable

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from scheduling.forms.calendar import SchoolsCloseForm
from scheduling.models import CalendarWork
from scheduling.selectors.batch_page import batch_page, works_of
from scheduling.selectors.calendar_choices import school_choices
from scheduling.services import district_closing
from scheduling.services.deeds import deed_from
from teamroom.common.errors import RuleBroken
from teamroom.common.forms import attempt
from teamroom.common.http import UNPROCESSABLE, page_or_fragment
from teamroom.members.access import require_in_district
from teamroom.members.signed_in import MemberRequest, signed_in

DISTRICT = {"district": True}
"""The way round for somebody of the district."""


@require_http_methods(["GET", "HEAD", "POST"])
@signed_in
def close(request: MemberRequest) -> HttpResponse:
    """Which dates, what for, and in which schools."""
    require_in_district(request.user, "close schools")
    form = SchoolsCloseForm(request.POST if request.method == "POST" else None, schools=school_choices())
    if form.is_bound:
        batch = attempt(
            form,
            lambda: district_closing.try_out_together(form.cleaned_data["schools"], form.close, request.user),
        )
        if batch is not None:
            return redirect("scheduling:schools-close-batch", batch)
    status = UNPROCESSABLE if form.errors else 200
    return render(request, "scheduling/schools_close.html", {"form": form, **DISTRICT}, status=status)


@require_safe
@signed_in
def batch(request: MemberRequest, batch: uuid.UUID) -> HttpResponse:
    """School by school what it does, how far it is, or what came of it."""
    works = _works(request, batch)
    context = {"batch": batch_page(works), "deed": deed_from(works[0].asked["deed"]), **DISTRICT}
    page, fragment = "scheduling/schools_close_batch.html", "scheduling/_schools_close_batch.html"
    return page_or_fragment(request, page, fragment, context)


@require_POST
@signed_in
def yes(request: MemberRequest, batch: uuid.UUID) -> HttpResponse:
    """Close the dates in every school whose preview held."""
    works = _works(request, batch)
    return _acted(request, batch, lambda: district_closing.say_yes_together(works, request.user))


@require_POST
@signed_in
def undo(request: MemberRequest, batch: uuid.UUID) -> HttpResponse:
    """Put every school's calendar back as it was."""
    works = _works(request, batch)
    return _acted(request, batch, lambda: district_closing.take_back_together(works, request.user))


def _acted(request: MemberRequest, batch: uuid.UUID, act: Callable[[], uuid.UUID]) -> HttpResponse:
    try:
        batch = act()
    except RuleBroken as broken:
        messages.error(request, broken.message)
    return redirect("scheduling:schools-close-batch", batch)


def _works(request: MemberRequest, batch: uuid.UUID) -> list[CalendarWork]:
    require_in_district(request.user, "close schools")
    works = works_of(batch)
    if not works:
        raise Http404
    return works
