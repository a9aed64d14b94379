"""Closures out of pasted lines and of a calendar file: what each would do, and then all of it at once."""

from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from scheduling.calendar_reading.apart import read_apart
from scheduling.calendar_reading.ics import Entry, NotACalendar, ReadCalendar
from scheduling.calendar_reading.pasted import Pasted, read_pasted
from scheduling.forms.closures import (
    CalendarFileForm,
    EntriesForm,
    PasteForm,
    TicksForm,
    entries_sent,
    field_of,
    sealed_entries,
)
from scheduling.selectors.closures import (
    CLOSE,
    NOTHING,
    EntryLine,
    dates_in,
    entry_lines,
    foremost,
    pasted_lines,
    seen_of,
)
from scheduling.services.closures import Closing, KindDates, Written, write_calendar
from scheduling.views.closures import HERE, attempt_seen, form_context, said_after, written_said
from scheduling.views.taking_back import remember
from teamroom.common.errors import RuleBroken
from teamroom.common.http import UNPROCESSABLE
from teamroom.common.uploads import was_too_large
from teamroom.dates.models import DayKind
from teamroom.members.access import YearPlace, year_for
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])


@form_methods
@signed_in
def paste(request: MemberRequest, year: int) -> HttpResponse:
    """Lines out of a spreadsheet: read, shown as understood, and closed where they are ticked."""
    place = year_for(request.user, year, "set up year")
    form = PasteForm(request.POST) if request.method == "POST" else PasteForm()
    if not form.is_bound or not form.is_valid():
        return _paste_page(request, place, form)
    found = place.year
    pasted = read_pasted(form.cleaned_data["text"], first_day=found.first_day, last_day=found.last_day)
    return _pasted(request, place, form, pasted)


def _pasted(request: MemberRequest, place: YearPlace, form: PasteForm, pasted: Pasted) -> HttpResponse:
    lines = pasted_lines(pasted, seen_of(place.year))
    offered = {str(line.number): line for line in lines if line.look.is_offered}
    shown: dict[str, Any] = {"pasted": pasted, "lines": lines, "offered": bool(offered)}
    if "adopt" not in request.POST:
        return _paste_page(request, place, form, {**shown, "ticked": offered.keys()})
    ticks = TicksForm(request.POST, offered=offered)
    closings = [Closing(line.look.span) for value, line in offered.items() if value in ticks.ticked]
    written: list[Written] = []
    answer = attempt_seen(place, ticks, lambda: written.append(write_calendar(place.year, closings)))
    if answer is not None and answer.done:
        remember(request, place.year, written[-1])
        messages.success(request, f"{written_said(written[-1])} {said_after(answer, place.year)}")
        return redirect("scheduling:closures", place.year.pk)
    told = form_context(place, ticks, answer)
    context = {**shown, "ticked": ticks.ticked, "ticks": ticks, "told": told["told"]}
    return _paste_page(request, place, form, context, status=UNPROCESSABLE if ticks.errors else 200)


def _paste_page(
    request: MemberRequest, place: YearPlace, form: PasteForm, shown: dict[str, Any] | None = None, *, status: int = 200
) -> HttpResponse:
    context = {"form": form, **HERE, **(shown or {})}
    return year_page(
        request, place, "scheduling/closure_paste.html", context, status=UNPROCESSABLE if form.errors else status
    )


@form_methods
@signed_in
def import_calendar(request: MemberRequest, year: int) -> HttpResponse:
    """A calendar file: read, shown with what each entry would do, and written as chosen."""
    place = year_for(request.user, year, "set up year")
    if request.method != "POST":
        return _file_page(request, place, CalendarFileForm())
    if "entries" in request.POST:
        return _entries(request, place)
    form = CalendarFileForm(request.POST, request.FILES)
    if was_too_large(request):
        form.add_error("file", "The file is too large: ask for a calendar of holidays and school days alone.")
    if not form.is_valid():
        return _file_page(request, place, form)
    try:
        read = _read(place, form.cleaned_data["file"].read())
    except NotACalendar as refused:
        form.refuse(RuleBroken(str(refused), field="file"))
        return _file_page(request, place, form)
    entries = foremost(read.entries)
    kinds = _kinds(place)
    lines = entry_lines(entries, seen_of(place.year), kinds)
    initial = {field_of(n): line.suggested for n, line in enumerate(lines)}
    plan = EntriesForm(read=entries, kinds=kinds, initial=initial)
    return _plan_page(request, place, plan, lines, {"read": read, "left_off": len(read.entries) - len(entries)})


def _read(place: YearPlace, data: bytes) -> ReadCalendar:
    year = place.year
    return read_apart(data, first_day=year.first_day, last_day=year.last_day, zone=year.school.time_zone)


def _entries(request: MemberRequest, place: YearPlace) -> HttpResponse:
    """Write what was chosen. What the form carries was signed here, and is checked anew all the same."""
    entries = entries_sent(place.year, request.POST["entries"])
    if entries is None:
        form = CalendarFileForm()
        messages.error(request, "That preview is too old, or not for this year: choose the file again.")
        return _file_page(request, place, form, status=UNPROCESSABLE)
    kinds = _kinds(place)
    plan = EntriesForm(request.POST, read=entries, kinds=kinds)
    written: list[Written] = []
    answer = attempt_seen(place, plan, lambda: written.append(_written(place, plan)))
    if answer is not None and answer.done:
        remember(request, place.year, written[-1])
        messages.success(request, f"{written_said(written[-1])} {said_after(answer, place.year)}")
        return redirect("scheduling:closures", place.year.pk)
    told = form_context(place, plan, answer)["told"]
    return _plan_page(request, place, plan, entry_lines(entries, seen_of(place.year), kinds), {"told": told})


def _written(place: YearPlace, plan: EntriesForm) -> Written:
    closings: list[Closing] = []
    kinds: list[KindDates] = []
    for n, entry in enumerate(plan.read):
        chosen = plan.chosen(n)
        if chosen == CLOSE:
            closings += [Closing(span, field_of(n)) for span in entry.spans]
        elif chosen != NOTHING:
            kinds.append(KindDates(tuple(dates_in(entry)), plan.kinds[chosen], field_of(n)))
    if not closings and not kinds:
        raise RuleBroken("Every entry says “Nothing”: choose what at least one of them does.")
    return write_calendar(place.year, closings, kinds)


def _plan_page(
    request: MemberRequest, place: YearPlace, plan: EntriesForm, lines: Sequence[EntryLine], shown: dict[str, Any]
) -> HttpResponse:
    rows = [
        (field_of(n), line, plan[field_of(n)].value() or NOTHING, plan.errors.get(field_of(n)))
        for n, line in enumerate(lines)
    ]
    entries: list[Entry] = [line.entry for line in lines]
    context = {"form": plan, "rows": rows, "entries": sealed_entries(place.year, entries), **HERE, **shown}
    return year_page(
        request, place, "scheduling/closure_entries.html", context, status=UNPROCESSABLE if plan.errors else 200
    )


def _file_page(request: MemberRequest, place: YearPlace, form: CalendarFileForm, *, status: int = 200) -> HttpResponse:
    context = {"form": form, **HERE}
    return year_page(
        request, place, "scheduling/closure_import.html", context, status=UNPROCESSABLE if form.errors else status
    )


def _kinds(place: YearPlace) -> list[DayKind]:
    return list(place.year.day_kinds.order_by("pk"))
