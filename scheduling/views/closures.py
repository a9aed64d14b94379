"""The closures of a year: their list, one by hand, and the holidays that are suggested."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_safe

from scheduling.calendar_reading.spans import Span
from scheduling.forms.closures import ClosureForm, TicksForm
from scheduling.forms.year_setup import SealedForm
from scheduling.selectors.closures import HolidayLine, closure_line, closures_page, holiday_lines, seen_of, span_said
from scheduling.selectors.preview_words import preview_told
from scheduling.services import calendar
from scheduling.services.asked_first import Answer, do_if_seen, readings_said
from scheduling.services.closures import Closing, Written, write_calendar
from scheduling.services.preview import previewed
from scheduling.services.rehearsal import Deed
from scheduling.views.taking_back import amount_said, remember, written_last
from teamroom.common.forms import attempt
from teamroom.common.http import UNPROCESSABLE
from teamroom.common.wording import counted
from teamroom.dates.models import Closure, SchoolYear
from teamroom.dates.places import state_name
from teamroom.members.access import YearPlace, year_for
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])
HERE = {"here": "calendar"}


@require_safe
@signed_in
def closures(request: MemberRequest, year: int) -> HttpResponse:
    """Every closure with the school days it takes, and the ways to more of them."""
    place = year_for(request.user, year)
    waiting = 0
    if place.may_set_up:
        waiting = sum(line.ticked for line in holiday_lines(place.year, seen_of(place.year)))
    added = {"said": amount_said(written_last(request, place.year)) if place.may_set_up else ""}
    context = {"closures": closures_page(place.year), "holidays_waiting": waiting, "added": added, **HERE}
    return year_page(request, place, "scheduling/closures.html", context)


@form_methods
@signed_in
def add(request: MemberRequest, year: int) -> HttpResponse:
    """A closure by hand."""
    place = year_for(request.user, year, "set up year")
    form = ClosureForm(request.POST) if request.method == "POST" else ClosureForm()
    answer = attempt_seen(place, form, lambda: _close(place.year, form)) if request.method == "POST" else None
    if answer is not None and answer.done:
        said = span_said(form.cleaned_data["first_day"], form.cleaned_data["last_day"])
        messages.success(request, f"Closed {said}: {form.cleaned_data['name']}. {said_after(answer, place.year)}")
        return redirect("scheduling:closures", year)
    return _form_page(request, place, form, answer, title="Close dates", send="Close them")


@form_methods
@signed_in
def change(request: MemberRequest, year: int, closure: int) -> HttpResponse:
    """Other dates or another name for a closure."""
    place = year_for(request.user, year, "set up year")
    found = closure_in(place.year, closure)
    begun = {"name": found.name, "first_day": found.first_day, "last_day": found.last_day}
    form = ClosureForm(request.POST) if request.method == "POST" else ClosureForm(initial=begun)
    answer = attempt_seen(place, form, lambda: _change(found, form)) if request.method == "POST" else None
    if answer is not None and answer.done:
        said = span_said(form.cleaned_data["first_day"], form.cleaned_data["last_day"])
        messages.success(request, f"{form.cleaned_data['name']}: {said}. {said_after(answer, place.year)}")
        return redirect("scheduling:closures", year)
    return _form_page(request, place, form, answer, title=f"Change {begun['name']}", send="Save the closure")


@form_methods
@signed_in
def remove(request: MemberRequest, year: int, closure: int) -> HttpResponse:
    """Reopen a closure's days, having shown what that does."""
    place = year_for(request.user, year, "set up year")
    found = closure_in(place.year, closure)
    line = closure_line(found)
    if request.method == "POST":
        calendar.reopen(found)
        said = f"{line.when} is open again: {counted(line.days, 'school day')} more."
        messages.success(request, f"{said} To close it again, add it as {line.name}.")
        return redirect("scheduling:closures", year)
    preview = previewed(place.year, lambda: calendar.reopen(closure_in(place.year, closure)))
    context = {"line": line, "told": preview_told(preview, place.year), **HERE}
    return year_page(request, place, "scheduling/closure_remove.html", context)


@form_methods
@signed_in
def holidays(request: MemberRequest, year: int) -> HttpResponse:
    """Federal and state holidays, each to be ticked or not, closed all at once."""
    place = year_for(request.user, year, "set up year")
    lines = holiday_lines(place.year, seen_of(place.year))
    offered = {line.value: line for line in lines if line.look.is_offered}
    if request.method != "POST":
        return _holidays_page(request, place, lines, TicksForm(offered=offered))
    form = TicksForm(request.POST, offered=offered)
    days = [line.holiday for value, line in offered.items() if value in form.ticked]
    closings = [Closing(Span(day.date, day.date, day.name)) for day in days]
    written: list[Written] = []
    answer = attempt_seen(place, form, lambda: written.append(write_calendar(place.year, closings)))
    if answer is None or not answer.done:
        return _holidays_page(request, place, lines, form, answer)
    remember(request, place.year, written[-1])
    messages.success(request, f"{written_said(written[-1])} {said_after(answer, place.year)}")
    return redirect("scheduling:closures", year)


def _holidays_page(
    request: MemberRequest,
    place: YearPlace,
    lines: list[HolidayLine],
    form: TicksForm,
    answer: Answer | None = None,
) -> HttpResponse:
    context = {
        "lines": lines,
        "ticked": form.ticked if form.is_bound else {line.value for line in lines if line.ticked},
        "state": state_name(place.year.school.place),
        **form_context(place, form, answer),
    }
    return year_page(request, place, "scheduling/closure_holidays.html", context, status=status_of(form))


def closure_in(year: SchoolYear, pk: int) -> Closure:
    found = year.closures.filter(pk=pk).first()
    if found is None:
        raise Http404
    return found


def attempt_seen(place: YearPlace, form: SealedForm, deed: Deed) -> Answer | None:
    """Do a deed that turns no verdict, or only those its sender has seen; None if the form refuses."""
    return attempt(form, lambda: do_if_seen(place.year, deed, seal=form.cleaned_data["seal"]))


def form_context(place: YearPlace, form: SealedForm, answer: Answer | None) -> dict[str, Any]:
    return {"form": form, "told": preview_told(answer.preview, place.year) if answer else None, **HERE}


def status_of(form: SealedForm) -> int:
    return UNPROCESSABLE if form.errors else 200


def said_after(answer: Answer, year: SchoolYear) -> str:
    """How many school days are left, and what the deed did to the readings."""
    days = f"The year has {counted(len(answer.preview.days_after), 'school day')} now."
    return f"{days} {readings_said(answer.preview, year)}".strip()


def written_said(written: Written) -> str:
    """`9 closures added. 38 dates got their kind of day. 2 were closed already.`"""
    told = []
    if written.closures or not written.dates:
        told.append(f"{counted(len(written.closures), 'closure')} added.")
    if written.dates:
        told.append(f"{counted(len(written.dates), 'date')} got a kind of day.")
    if written.covered:
        told.append(f"{written.covered} lay within others, or was closed already.")
    return " ".join(told)


def _close(year: SchoolYear, form: ClosureForm) -> None:
    given = form.cleaned_data
    calendar.close_dates(year, given["first_day"], given["last_day"], given["name"])


def _change(closure: Closure, form: ClosureForm) -> None:
    given = form.cleaned_data
    calendar.change_closure(closure, given["first_day"], given["last_day"], given["name"])


def _form_page(
    request: MemberRequest, place: YearPlace, form: ClosureForm, answer: Answer | None, *, title: str, send: str
) -> HttpResponse:
    context = {"title": title, "send": send, **form_context(place, form, answer)}
    return year_page(request, place, "scheduling/closure_form.html", context, status=status_of(form))
