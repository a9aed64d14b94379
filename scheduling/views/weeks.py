"""The week of a classroom and its versions."""

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from scheduling import access
from scheduling.forms.drafts import NewVersionForm
from scheduling.forms.weeks import FirstWeekForm, StartsForm
from scheduling.models import Week
from scheduling.selectors.drafts import in_effect_then
from scheduling.selectors.live_week import topics_of
from scheduling.selectors.week_sheet import chosen_week, sheet_of, shown_column, weeks_of
from scheduling.services import drafts, undoing, week_versions
from scheduling.views.answers import form_answer, shown_ledger, week_url
from teamroom.common.clock import said_date
from teamroom.common.forms import EditForm, attempt
from teamroom.common.http import page_or_fragment
from teamroom.members.access import year_place
from teamroom.members.models import Classroom
from teamroom.members.signed_in import MemberRequest, signed_in


@require_safe
@signed_in
def week(request: MemberRequest, classroom: int) -> HttpResponse:
    """The sheet and its ledger: of the version in effect today unless `?week=` names another."""
    found = access.classroom_for_reading(request.user, classroom)
    may_edit = access.can_edit_classroom(request.user, found)
    versions = weeks_of(found)
    today = found.year.school.today()
    chosen = chosen_week(versions, request.GET.get("week", ""), today)
    if chosen is None:
        return _no_week(request, found, may_edit=may_edit)
    # Before the rows: the page is then never behind what it says it knows.
    topics = topics_of(found)
    sheet = sheet_of(chosen, versions=versions)
    context = {
        "sheet": sheet,
        "topics": topics,
        "ledger": shown_ledger(sheet),
        "other": in_effect_then(chosen),
        "may_edit": may_edit,
        **(undoing.own_last_edits(chosen, request.user) if may_edit else {}),
        "strip": request.GET.get("strip", ""),
        "place": year_place(request.user, found.year),
        "shown": shown_column(sheet, today),
    }
    return render(request, "scheduling/week.html", context)


@require_safe
@signed_in
def in_words(request: MemberRequest, week: int) -> HttpResponse:
    """The week as a list: each block a link of its own, however short its time on the sheet."""
    found = access.week_for_reading(request.user, week)
    context = {
        "sheet": sheet_of(found),
        "may_edit": access.can_edit_week(request.user, found),
        "back": week_url(found),
        "place": year_place(request.user, found.classroom.year),
    }
    return page_or_fragment(request, "scheduling/week_list.html", "scheduling/_week_list.html", context)


def _no_week(request: MemberRequest, classroom: Classroom, *, may_edit: bool) -> HttpResponse:
    year = classroom.year
    form = FirstWeekForm(first_day=year.first_day) if may_edit else None
    return render(
        request,
        "scheduling/no_week.html",
        {"classroom": classroom, "form": form, "place": year_place(request.user, year)},
    )


@require_POST
@signed_in
def begin(request: MemberRequest, classroom: int) -> HttpResponse:
    """Begin a classroom's first week, empty."""
    with transaction.atomic():
        found = access.classroom_for_editing(request.user, classroom)
        form = FirstWeekForm(request.POST, first_day=found.year.first_day)
        begun = attempt(form, lambda: week_versions.begin_week(found, starts=form.cleaned_data["starts"]))
    if begun is None:
        return render(request, "scheduling/no_week.html", {"classroom": found, "form": form}, status=422)
    messages.success(request, "The week is begun. Add its first block.")
    return redirect(week_url(begun))


form_methods = require_http_methods(["GET", "HEAD", "POST"])


@form_methods
@signed_in
def start(request: MemberRequest, week: int) -> HttpResponse:
    """A copy of a week from another date on: a draft, unless it is to count at once."""
    if request.method != "POST":
        return form_answer(request, "week_start", access.week_for_form(request.user, week), NewVersionForm(), {})
    form = NewVersionForm(request.POST)
    with transaction.atomic():
        found = access.week_for_editing(request.user, week)
        copy = attempt(form, lambda: _copied(request, found, form))
    if copy is None:
        return form_answer(request, "week_start", found, form, {})
    if copy.draft:
        said = "This is your draft: it counts for nothing until you put it in effect. The ledger says what it would do."
    else:
        said = "This is the new version: what you change here leaves the earlier weeks as they were."
    messages.success(request, said)
    return to_page(request, week_url(copy))


def _copied(request: MemberRequest, week: Week, form: NewVersionForm) -> Week:
    told = form.cleaned_data
    if told["how"] == "count":
        return week_versions.start_week(week, starts=told["starts"], member=request.user)[0]
    return drafts.prepare_draft(week, starts=told["starts"], member=request.user, name=told["name"])


@form_methods
@signed_in
def date(request: MemberRequest, week: int) -> HttpResponse:
    """Put a version of the week in effect from another date."""
    if request.method != "POST":
        found = access.week_for_form(request.user, week)
        return form_answer(request, "week_date", found, StartsForm(initial={"starts": found.starts}), {})
    form = StartsForm(request.POST)
    with transaction.atomic():
        found = access.week_for_editing(request.user, week)
        moved = attempt(form, lambda: week_versions.move_start(found, member=request.user, **form.cleaned_data))
    if moved is None:
        return form_answer(request, "week_date", found, form, {})
    what = "draft is now for" if found.draft else "version is now in effect from"
    messages.success(request, f"This {what} {said_date(found.starts)}.")
    return to_page(request, week_url(found))


@form_methods
@signed_in
def drop(request: MemberRequest, week: int) -> HttpResponse:
    """Drop a draft with its history; a version in effect is taken out of effect first."""
    if request.method != "POST":
        found = access.week_for_form(request.user, week)
        form = None
    else:
        form = EditForm(request.POST)
        with transaction.atomic():
            found = access.week_for_editing(request.user, week)
            classroom, starts = found.classroom_id, said_date(found.starts)
            dropped = attempt(form, lambda: drafts.throw_away(found))
        if dropped is not None:
            messages.success(request, f"The draft from {starts} is gone.")
            return to_page(request, reverse("scheduling:week", args=[classroom]))
    return form_answer(request, "week_drop", found, form or EditForm(), {"changes": found.changes.count()})


def to_page(request: HttpRequest, url: str) -> HttpResponse:
    if request.headers.get("HX-Request"):
        return HttpResponse(status=204, headers={"HX-Redirect": url})
    return redirect(url)
