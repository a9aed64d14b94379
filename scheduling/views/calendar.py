"""The calendar of a year, and a date of it with everything an administrator can do there."""

import datetime as dt
from collections.abc import Callable

from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.cache import patch_vary_headers
from django.views.decorators.http import require_http_methods, require_safe

from scheduling.forms.calendar import ChangeForm, KindForm, ReopenForm, SpanForm, plan_initial
from scheduling.models import DayChange
from scheduling.selectors.calendar_choices import change_choices, kind_choices
from scheduling.selectors.calendar_page import calendar_page, date_cell
from scheduling.services import calendar_work
from scheduling.services.calendar import closure_on
from scheduling.services.deeds import Deed, LiftChange, MoveChange, PlaceChange, Plan
from scheduling.services.deeds.closings import span_said
from teamroom.common.clock import said_date
from teamroom.common.forms import EditForm, attempt
from teamroom.common.http import UNPROCESSABLE, is_fragment
from teamroom.dates.models import Closure
from teamroom.members.access import YearPlace, year_for
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])
HERE = {"here": "calendar"}


@require_safe
@signed_in
def calendar(request: MemberRequest, year: int) -> HttpResponse:
    """The months at a glance, the school days counted, and what lies ahead."""
    place = year_for(request.user, year)
    return year_page(request, place, "scheduling/calendar.html", {**HERE, "calendar": calendar_page(place.year)})


@require_safe
@signed_in
def day(request: MemberRequest, year: int, date: dt.date) -> HttpResponse:
    """What a date is, and who changes what on it."""
    place = year_for(request.user, year)
    cell = date_cell(place.year, date)
    if cell is None:
        raise Http404
    template = "scheduling/_calendar_day.html" if is_fragment(request) else "scheduling/calendar_day.html"
    response = year_page(request, place, template, {**HERE, "cell": cell, "closure": closure_on(place.year, date)})
    patch_vary_headers(response, ["HX-Request"])
    return response


@form_methods
@signed_in
def close(request: MemberRequest, year: int, date: dt.date) -> HttpResponse:
    """Close a date, or a span that begins with it."""
    place = _place(request, year, date)
    form = SpanForm(_sent(request), initial={"first_day": date, "last_day": date})
    return _tried(request, place, date, form, lambda: form.close, f"Close {said_date(date)}")


@form_methods
@signed_in
def reopen(request: MemberRequest, year: int, date: dt.date) -> HttpResponse:
    """Open a date again, alone or with the rest of its closure."""
    place = _place(request, year, date)
    closure = _closure(place, date)
    span = span_said(closure.first_day, closure.last_day)
    said = (f"{said_date(date)} alone", f"all of {closure.name}: {span}")
    form = ReopenForm(_sent(request), closure=closure, date=date, said=said)
    return _tried(request, place, date, form, lambda: form.reopen, f"Reopen {said_date(date)}")


@form_methods
@signed_in
def closure(request: MemberRequest, year: int, date: dt.date) -> HttpResponse:
    """Give the closure that covers a date another name or other dates."""
    place = _place(request, year, date)
    found = _closure(place, date)
    initial = {"name": found.name, "first_day": found.first_day, "last_day": found.last_day}
    form = SpanForm(_sent(request), initial=initial)
    return _tried(request, place, date, form, lambda: form.change(date), f"Change {found.name}")


@form_methods
@signed_in
def kind(request: MemberRequest, year: int, date: dt.date) -> HttpResponse:
    """Give a date a kind of its own, or take it away."""
    place = _place(request, year, date)
    kinds, usual = kind_choices(place.year, date)
    own = place.year.calendar_days.filter(date=date).values_list("kind__key", flat=True).first()
    form = KindForm(_sent(request), kinds=kinds, usual=usual, initial={"kind": own or ""})
    return _tried(request, place, date, form, lambda: form.set_kind(date), f"What kind of day {said_date(date)} is")


@form_methods
@signed_in
def add_change(request: MemberRequest, year: int, date: dt.date) -> HttpResponse:
    """Place a day change: an early release, an assembly, a drill."""
    place = _place(request, year, date)
    form = ChangeForm(_sent(request), choices=change_choices(place.year), initial={"date": date})
    return _tried(request, place, date, form, lambda: PlaceChange(form.plan), f"What happens on {said_date(date)}")


@form_methods
@signed_in
def change(request: MemberRequest, year: int, change: int) -> HttpResponse:
    """Give a day change another date, time, audience or credits."""
    place = year_for(request.user, year, "set up year")
    found = _change(place, change)
    initial = plan_initial(Plan.of(found))
    form = ChangeForm(_sent(request), choices=change_choices(place.year), initial=initial)
    return _tried(request, place, found.date, form, lambda: MoveChange(found.pk, form.plan), f"Change {found.name}")


@form_methods
@signed_in
def lift(request: MemberRequest, year: int, change: int) -> HttpResponse:
    """Take a day change away."""
    place = year_for(request.user, year, "set up year")
    found = _change(place, change)
    deed = LiftChange(found.pk, Plan.of(found))
    return _tried(request, place, found.date, EditForm(_sent(request)), lambda: deed, f"Lift {found.name}")


def _tried(
    request: MemberRequest, place: YearPlace, date: dt.date, form: EditForm, deed: Callable[[], Deed], heading: str
) -> HttpResponse:
    """Show the form; once it is sent, preview its deed and go to what came of it."""
    if request.method == "POST":
        work = attempt(form, lambda: calendar_work.try_out(place.year, deed(), request.user))
        if work is not None:
            return redirect("scheduling:calendar-work", place.year.pk, work.pk)
    context = {"form": form, "heading": heading, "back": reverse("scheduling:calendar-day", args=[place.year.pk, date])}
    status = UNPROCESSABLE if form.errors else 200
    return year_page(request, place, "scheduling/calendar_form.html", {**HERE, **context}, status=status)


def _sent(request: MemberRequest) -> QueryDict | None:
    return request.POST if request.method == "POST" else None


def _place(request: MemberRequest, year: int, date: dt.date) -> YearPlace:
    """The year for somebody who may change it, if it holds the date."""
    place = year_for(request.user, year, "set up year")
    if not place.year.first_day <= date <= place.year.last_day:
        raise Http404
    return place


def _closure(place: YearPlace, date: dt.date) -> Closure:
    found = closure_on(place.year, date)
    if found is None:
        raise Http404
    return found


def _change(place: YearPlace, pk: int) -> DayChange:
    found = DayChange.objects.filter(year=place.year, pk=pk).first()
    if found is None:
        raise Http404
    return found
