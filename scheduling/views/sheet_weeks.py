"""Weeks from and to spreadsheets: a file sent, looked at with every guess, and made a draft; a week taken away."""

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods, require_safe

from scheduling import access
from scheduling.forms.sheet_weeks import SheetWeekForm, SpreadsheetForm, choices_sent
from scheduling.models import SentSheet, Week
from scheduling.selectors.sheet_weeks import days_for, entries_of, faults_shown, look_at, overlaps_of, shown_days
from scheduling.selectors.year_words import year_words
from scheduling.services import sheet_weeks
from scheduling.spreadsheets.reading import read_file
from scheduling.spreadsheets.sheet import NotASpreadsheet
from scheduling.spreadsheets.writing import KINDS, SHAPES, written
from scheduling.views.answers import form_answer, refused_status, week_url
from teamroom.common.errors import RuleBroken
from teamroom.common.forms import attempt
from teamroom.common.uploads import was_too_large
from teamroom.members.access import year_place
from teamroom.members.models import Classroom
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])


@form_methods
@signed_in
def send(request: MemberRequest, classroom: int) -> HttpResponse:
    """A spreadsheet of a classroom's week: read, kept for its sender, and shown as understood."""
    found = access.classroom_for_form(request.user, classroom)
    form = SpreadsheetForm(request.POST, request.FILES) if request.method == "POST" else SpreadsheetForm()
    if was_too_large(request):
        form.add_error("file", "The file is too large. Copy the sheet with the week into a file of its own.")
    sent = attempt(form, lambda: _sent(request, found, form)) if form.is_bound else None
    if sent is not None:
        return redirect("scheduling:week-sheet-look", found.pk, sent.pk)
    status = refused_status(form) if form.is_bound else 200
    return _page(request, found, "scheduling/week_from_sheet.html", {"form": form}, status)


def _sent(request: MemberRequest, classroom: Classroom, form: SpreadsheetForm) -> SentSheet:
    file = form.cleaned_data["file"]
    try:
        read = read_file(file.read())
    except NotASpreadsheet as refused:
        raise RuleBroken(str(refused), field="file") from refused
    with transaction.atomic():
        return sheet_weeks.keep_sent(classroom, read, member=request.user, file_name=file.name)


@form_methods
@signed_in
def look(request: MemberRequest, classroom: int, sent: int) -> HttpResponse:
    """The week a sheet would make, with what was guessed; looked at again with other choices, or made a draft."""
    if request.method == "POST" and "look" not in request.POST:
        return _made(request, classroom, sent)
    found = access.classroom_for_form(request.user, classroom)
    kept = access.sent_sheet(request.user, found, sent)
    initial = {"starts": _usual_start(found), **request.POST.dict()}
    told = look_at(kept, year_words(found.year), choices_sent(initial))
    return _look_page(request, kept, SheetWeekForm(look=told, initial=initial))


def _made(request: MemberRequest, classroom: int, sent: int) -> HttpResponse:
    with transaction.atomic():
        found = access.classroom_for_editing(request.user, classroom)
        kept = access.sent_sheet(request.user, found, sent)
        kept.classroom = found
        told = look_at(kept, year_words(found.year), choices_sent(request.POST))
        form = SheetWeekForm(request.POST, look=told)
        draft = attempt(form, lambda: _draft(request, kept, form))
    if draft is None:
        return _look_page(request, kept, form)
    messages.success(request, "This is your draft of the sheet: it counts for nothing until it is put in effect.")
    return redirect(week_url(draft))


def _draft(request: MemberRequest, sent: SentSheet, form: SheetWeekForm) -> Week:
    dated = {name: form.cleaned_data[name] for name in ("starts", "name")}
    return sheet_weeks.draft_from_sheet(sent, form.week(), member=request.user, **dated)


def _look_page(request: MemberRequest, sent: SentSheet, form: SheetWeekForm) -> HttpResponse:
    wrong = [*form.look.faults, *overlaps_of(form.look, form.left_out)]
    faults, more = faults_shown(wrong)
    context = {
        "sent": sent,
        "look": form.look,
        "form": form,
        "faults": faults,
        "more_faults": more,
        "days": shown_days(form.look, form.meanings),
    }
    status = refused_status(form) if form.is_bound else 200
    return _page(request, sent.classroom, "scheduling/week_sheet_look.html", context, status)


def _page(
    request: MemberRequest, classroom: Classroom, template: str, context: dict[str, Any], status: int
) -> HttpResponse:
    back = reverse("scheduling:week", args=[classroom.pk])
    place = year_place(request.user, classroom.year)
    return year_page(request, place, template, {"classroom": classroom, "back": back, **context}, status=status)


def _usual_start(classroom: Classroom) -> Any:
    """Today, or the year's first day if today is outside the year."""
    year, today = classroom.year, classroom.year.school.today()
    return today if year.first_day <= today <= year.last_day else year.first_day


@require_safe
@signed_in
def as_sheet(request: MemberRequest, week: int) -> HttpResponse:
    """The files that a week can be taken away as."""
    found = access.week_for_reading(request.user, week)
    context = {"may_edit": access.can_edit_week(request.user, found)}
    return form_answer(request, "week_as_sheet", found, None, context)


@require_safe
@signed_in
def take(request: MemberRequest, week: int, shape: str, kind: str) -> HttpResponse:
    """A week as a file that spreadsheets open."""
    found = access.week_for_reading(request.user, week)
    if shape not in SHAPES or kind not in KINDS:
        raise Http404
    words = year_words(found.classroom.year)
    name = f"{slugify(str(found.classroom)) or 'week'}-{found.starts:%Y-%m-%d}-{shape}.{kind}"
    entries = entries_of(found, words)
    return HttpResponse(
        written(entries, days_for(words, [entry.day for entry in entries]), shape, kind),
        content_type=KINDS[kind],
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
