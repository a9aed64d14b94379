"""Asking for a week to be fitted: taken over from a colleague, mended, or made from nothing."""

import datetime as dt
from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from scheduling import access
from scheduling.fitting_access import classroom_for_fitting
from scheduling.forms.fittings import DraftForm, MendForm, TakeOverForm
from scheduling.models import Fitting, Week
from scheduling.refit.taking_over import asked_for
from scheduling.selectors.fitting_ground import FittingGround
from scheduling.selectors.ledger import ledger_of
from scheduling.selectors.take_over_page import named, rooms_beside, source_told, weeks_to_start_from
from scheduling.selectors.week_sheet import version_said
from scheduling.selectors.weeks_in_effect import weeks_in_effect
from scheduling.selectors.year_inputs import year_inputs
from scheduling.selectors.year_words import year_words
from scheduling.services import fittings
from scheduling.views.answers import refused_status, week_url
from teamroom.common.forms import EditForm, attempt
from teamroom.common.http import UNPROCESSABLE
from teamroom.common.numbers import whole_number
from teamroom.members.access import year_place
from teamroom.members.models import Classroom
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])


@form_methods
@signed_in
def take_over(request: MemberRequest, classroom: int) -> HttpResponse:
    """Which colleague's week to start from; with `?week=` how much of it. Sent, the fitting is asked for."""
    found = classroom_for_fitting(request.user, classroom)
    asked = request.POST.get("week") if request.method == "POST" else request.GET.get("week")
    if not asked:
        context = {"years": weeks_to_start_from(found, request.user), "none_chosen": request.method == "POST"}
        status = UNPROCESSABLE if request.method == "POST" else 200
        return _page(request, found, "take_over", context, status=status)
    source = access.week_for_reading(request.user, whole_number(asked))
    told = source_told(source)
    form = TakeOverForm(
        request.POST if request.method == "POST" else None,
        days=told.days,
        activities=told.activities,
        initial={"week": source.pk, "starts": _usual_start(found)},
    )
    done = attempt(form, lambda: _taken_over(request, found, source, form)) if form.is_bound else None
    if done is not None:
        return redirect("scheduling:fitting", done.pk)
    own = weeks_in_effect(Classroom.objects.filter(pk=found.pk), _usual_start(found)).first()
    return _page(request, found, "take_over_from", {"source": told, "form": form, "own": own}, form)


def _taken_over(request: MemberRequest, classroom: Classroom, source: Week, form: TakeOverForm) -> Fitting:
    return fittings.ask(
        classroom,
        kind="take over",
        source=source,
        starts=form.cleaned_data["starts"],
        asked={"keep": form.keep},
        member=request.user,
    )


@form_methods
@signed_in
def from_nothing(request: MemberRequest, classroom: int) -> HttpResponse:
    """A week from bells and rules alone: what it is to hold and what is wished. Sent, it is asked for."""
    found = classroom_for_fitting(request.user, classroom)
    words, target = year_words(found.year), FittingGround(found, _usual_start(found)).target
    form = DraftForm(
        request.POST if request.method == "POST" else None,
        activities=named(words.by_key, words),
        rooms=rooms_beside(found, request.user, _usual_start(found)),
        initial={"starts": _usual_start(found), "activities": sorted(asked_for(target.rules, target.fixed))},
    )
    done = attempt(form, lambda: _from_nothing(request, found, form)) if form.is_bound else None
    if done is not None:
        return redirect("scheduling:fitting", done.pk)
    return _page(request, found, "from_nothing", {"form": form, "bells": bool(target.plan.bells)}, form)


def _from_nothing(request: MemberRequest, classroom: Classroom, form: DraftForm) -> Fitting:
    told = form.cleaned_data
    source = access.week_for_reading(request.user, told["beside"]) if told["together"] else None
    return fittings.ask(
        classroom, kind="draft", source=source, starts=told["starts"], asked=form.asked, member=request.user
    )


@form_methods
@signed_in
def mend(request: MemberRequest, week: int) -> HttpResponse:
    """What is short of a week, and from when it is to be mended. Sent, up to five smallest changes are asked for."""
    found = access.week_for_form(request.user, week)
    form = MendForm(request.POST if request.method == "POST" else None, initial={"starts": _mended_from(found)})
    done = attempt(form, lambda: _mended(request, found, form)) if form.is_bound else None
    if done is not None:
        return redirect("scheduling:fitting", done.pk)
    ledger = ledger_of(found.classroom, year_words(found.classroom.year))
    context = {"week": found, "said": version_said(found), "form": form, "short": ledger.missed}
    return _page(request, found.classroom, "week_mend", context, form)


def _mended(request: MemberRequest, week: Week, form: MendForm) -> Fitting:
    return fittings.ask(
        week.classroom, kind="mend", source=week, starts=form.cleaned_data["starts"], member=request.user
    )


def _mended_from(week: Week) -> dt.date:
    return max(week.starts, _usual_start(week.classroom))


def _usual_start(classroom: Classroom) -> dt.date:
    """The date a new week is usually meant from: the first school day that is not past, the year's last if all are."""
    days = [day.date for day in year_inputs(classroom.year).year.days]
    coming = [date for date in days if date >= classroom.year.school.today()]
    return next(iter([*coming, *reversed(days), classroom.year.first_day]))


def _page(
    request: MemberRequest,
    classroom: Classroom,
    template: str,
    context: dict[str, Any],
    form: EditForm | None = None,
    status: int = 200,
) -> HttpResponse:
    own = {"classroom": classroom, "back": reverse("scheduling:week", args=[classroom.pk])}
    if "week" in context:
        own["back"] = week_url(context["week"])
    if form is not None and form.is_bound:
        status = refused_status(form)
    place = year_place(request.user, classroom.year)
    return year_page(request, place, f"scheduling/{template}.html", {**own, **context}, status=status)
