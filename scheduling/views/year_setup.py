"""Setting a year up: its dates and school days, its kinds of day, standing days and the cycle."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from scheduling.forms.year_setup import CountForm, CycleForm, DatesForm, DayKindForm, StandingForm, facts_of
from scheduling.selectors import year_setup as selectors
from scheduling.selectors.preview_words import preview_told
from scheduling.services import day_kinds as kinds_service
from scheduling.services.asked_first import Answer, do_if_seen, readings_said
from scheduling.services.rehearsal import Deed
from scheduling.services.year_setup import set_year
from teamroom.common.errors import RuleBroken
from teamroom.common.forms import EditForm, attempt
from teamroom.common.http import UNPROCESSABLE
from teamroom.dates.models import DayKind
from teamroom.dates.selectors import cycle_of
from teamroom.members.access import YearPlace, year_for
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])
HERE = {"here": "calendar"}


@form_methods
@signed_in
def year_dates(request: MemberRequest, year: int) -> HttpResponse:
    """The school and its year: everybody reads the count of days, the administrator changes what it follows from."""
    place = year_for(request.user, year, "read year" if request.method != "POST" else "set up year")
    if request.method != "POST":
        return _dates_page(request, place, DatesForm(initial=facts_of(place.year)))
    form = DatesForm(request.POST)
    answer = attempt(
        form,
        lambda: _if_seen(place, form, lambda: set_year(place.year, form.facts, take_out=form.cleaned_data["take_out"])),
    )
    if answer is None or not answer.done:
        return _dates_page(request, place, form, answer)
    facts = form.facts
    count = selectors.days_count(place.year, facts.first_day, facts.last_day, facts.required_days)
    told = f"Saved. The year has {count.days} school days{f', {count.said}' if count.said else ''}."
    messages.success(request, f"{told} {readings_said(answer.preview, place.year)}".strip())
    return redirect("scheduling:year-dates", year)


def _dates_page(
    request: MemberRequest, place: YearPlace, form: DatesForm, answer: Answer | None = None
) -> HttpResponse:
    year, given = place.year, CountForm(form.data if form.is_bound else facts_of(place.year))
    if not given.is_valid():
        given = CountForm(facts_of(year))
        given.is_valid()
    count = selectors.days_count(
        year, given.cleaned_data["first_day"], given.cleaned_data["last_day"], given.cleaned_data["required_days"]
    )
    context: dict[str, Any] = {"form": form, "count": count, "told": _told(place, answer), **HERE}
    return year_page(request, place, "scheduling/year_dates.html", context, status=_status(form))


@require_safe
@signed_in
def year_dates_count(request: MemberRequest, year: int) -> HttpResponse:
    """The school days with the dates that somebody is typing."""
    place = year_for(request.user, year, "set up year")
    given = CountForm(request.GET)
    if not given.is_valid() or not 0 <= (given.cleaned_data["last_day"] - given.cleaned_data["first_day"]).days < 800:
        return HttpResponse(status=204)
    asked = given.cleaned_data
    count = selectors.days_count(place.year, asked["first_day"], asked["last_day"], asked["required_days"])
    return render(request, "scheduling/_days_count.html", {"count": count})


@require_safe
@signed_in
def day_kinds(request: MemberRequest, year: int) -> HttpResponse:
    """The kinds of day with where each is used, the weekdays' standing kinds, and the cycle."""
    return _kinds_page(request, year_for(request.user, year))


def _kinds_page(
    request: MemberRequest,
    place: YearPlace,
    *,
    add: DayKindForm | None = None,
    standing: StandingForm | None = None,
    cycle: CycleForm | None = None,
    answer: Answer | None = None,
) -> HttpResponse:
    year, sent = place.year, add or standing or cycle
    now = cycle.cycle if cycle is not None and cycle.is_valid() else cycle_of(year)
    context: dict[str, Any] = {
        **HERE,
        "kinds": selectors.kind_lines(year),
        "add": add or DayKindForm(),
        "standing": standing or StandingForm(kinds=_kinds(place), initial=selectors.standing_of(year)),
        "cycle": cycle or CycleForm(initial={"kind": now.kind, "length": now.length, "starts": now.starts}),
        "cycle_said": selectors.cycle_said(now),
        "strip": selectors.cycle_strip(year, now),
        "planned": selectors.planned_weeks(year),
        "asking": "standing" if standing else "cycle",
        "told": _told(place, answer),
    }
    return year_page(request, place, "scheduling/day_kinds.html", context, status=_status(sent))


@require_POST
@signed_in
def day_kind_add(request: MemberRequest, year: int) -> HttpResponse:
    """A kind of day more."""
    place = year_for(request.user, year, "set up year")
    form = DayKindForm(request.POST)
    kind = attempt(form, lambda: kinds_service.add_day_kind(place.year, form.cleaned_data["name"]))
    if kind is None:
        return _kinds_page(request, place, add=form)
    messages.success(request, f"{kind} is a kind of day now. Give it to a weekday below, or to dates in the calendar.")
    return redirect("scheduling:day-kinds", year)


@form_methods
@signed_in
def day_kind_rename(request: MemberRequest, year: int, kind: int) -> HttpResponse:
    """Another name for a kind of day; everything that names it follows."""
    place = year_for(request.user, year, "set up year")
    found = _kind(place, kind)
    form = DayKindForm(request.POST) if request.method == "POST" else DayKindForm(initial={"name": found.name})
    before = found.name
    renamed = None
    if form.is_bound:
        renamed = attempt(form, lambda: kinds_service.rename_day_kind(found, form.cleaned_data["name"]))
    if renamed is not None:
        messages.success(request, f"{before} is now called {found.name}, wherever it is named.")
        return redirect("scheduling:day-kinds", year)
    context = {"form": form, "kind": before, **HERE}
    return year_page(request, place, "scheduling/day_kind_rename.html", context, status=_status(form))


@require_POST
@signed_in
def day_kind_remove(request: MemberRequest, year: int, kind: int) -> HttpResponse:
    """Take a kind of day away that nothing uses."""
    place = year_for(request.user, year, "set up year")
    found = _kind(place, kind)
    try:
        kinds_service.remove_day_kind(found)
    except RuleBroken as refused:
        messages.error(request, refused.message)
    else:
        messages.success(request, f"{found.name} is gone. No date had it; to have it again, add it below.")
    return redirect("scheduling:day-kinds", year)


@require_POST
@signed_in
def standing_days(request: MemberRequest, year: int) -> HttpResponse:
    """The kind that each weekday has all year."""
    place = year_for(request.user, year, "set up year")
    form = StandingForm(request.POST, kinds=_kinds(place))
    answer = attempt(
        form, lambda: _if_seen(place, form, lambda: kinds_service.set_standing_kinds(place.year, form.asked))
    )
    if answer is None or not answer.done:
        return _kinds_page(request, place, standing=form, answer=answer)
    messages.success(request, f"The weekdays are saved. {readings_said(answer.preview, place.year)}".strip())
    return redirect("scheduling:day-kinds", year)


@require_POST
@signed_in
def cycle(request: MemberRequest, year: int) -> HttpResponse:
    """How the school days are named."""
    place = year_for(request.user, year, "set up year")
    form = CycleForm(request.POST)
    answer = attempt(form, lambda: _if_seen(place, form, lambda: kinds_service.set_cycle(place.year, form.cycle)))
    if answer is None or not answer.done:
        return _kinds_page(request, place, cycle=form, answer=answer)
    told = f"The cycle is saved. {selectors.cycle_said(form.cycle)}"
    messages.success(request, f"{told} {readings_said(answer.preview, place.year)}".strip())
    return redirect("scheduling:day-kinds", year)


@require_safe
@signed_in
def cycle_preview(request: MemberRequest, year: int) -> HttpResponse:
    """The first weeks' dates as a cycle that is being chosen would name them."""
    place = year_for(request.user, year, "set up year")
    form = CycleForm(request.GET)
    if not form.is_valid():
        return HttpResponse(status=204)
    context = {"strip": selectors.cycle_strip(place.year, form.cycle), "cycle_said": selectors.cycle_said(form.cycle)}
    return render(request, "scheduling/_cycle_strip.html", context)


def _kinds(place: YearPlace) -> list[DayKind]:
    return sorted(place.year.day_kinds.order_by("pk"), key=lambda kind: not kind.is_regular)


def _kind(place: YearPlace, pk: int) -> DayKind:
    found = place.year.day_kinds.filter(pk=pk).first()
    if found is None:
        raise Http404
    return found


def _if_seen(place: YearPlace, form: EditForm, deed: Deed) -> Answer:
    return do_if_seen(place.year, deed, seal=form.cleaned_data["seal"])


def _told(place: YearPlace, answer: Answer | None) -> Any:
    return preview_told(answer.preview, place.year) if answer is not None else None


def _status(form: EditForm | None) -> int:
    return UNPROCESSABLE if form is not None and form.errors else 200
