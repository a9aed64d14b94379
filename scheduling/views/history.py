"""The history of a week: what was changed, why, and putting the week back as it was."""

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from scheduling import access
from scheduling.forms.history import HistoryForm, MomentForm, ReasonForm, RestoreForm
from scheduling.models import Week, WeekChange
from scheduling.selectors.edit_words import deed_said
from scheduling.selectors.history import everybody, history_of, revision_on
from scheduling.selectors.live_week import topics_of
from scheduling.selectors.restore_words import restoring_told
from scheduling.selectors.year_words import year_words
from scheduling.services import change_reasons, restoring
from scheduling.views.answers import refused_status, said_of, week_url
from scheduling.views.conflicts import with_the_last_word
from teamroom.common.errors import RuleBroken
from teamroom.common.forms import EditForm, attempt
from teamroom.common.http import is_fragment, page_or_fragment
from teamroom.common.numbers import whole_number
from teamroom.members.access import year_place
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@signed_in
def history(request: MemberRequest, week: int) -> HttpResponse:
    """Who changed what, newest first; `?block=` and `?by=` ask for a part, `?before=` goes on from a revision."""
    found = access.week_for_reading(request.user, week)
    topics = topics_of(found.classroom)
    form = HistoryForm(request.GET, people=everybody(found))
    asked = form.asked
    part = {name: value for name, value in (("block", asked.block), ("by", asked.by)) if value is not None}
    context = {
        "week": found,
        "topics": topics,
        "form": form,
        "asked": asked,
        "history": history_of(found, asked, reader=request.user),
        "query": urlencode(part),
        "moment": MomentForm(),
        "may_edit": access.can_edit_week(request.user, found),
        "back": week_url(found),
    }
    if is_fragment(request):
        return render(request, "scheduling/_history.html", {**context, "oob": True})
    return _page(request, found, "history", context)


@form_methods
@signed_in
@with_the_last_word
def restore(request: MemberRequest, week: int) -> HttpResponse:
    """What putting a week back would do, for `?revision=` or `?on=` a date; sent, it is done."""
    if request.method != "POST":
        found = access.week_for_form(request.user, week)
        moment = MomentForm(request.GET if "on" in request.GET else None)
        revision = _revision(request, found, moment)
        if revision is None:
            return _asked_when(request, found, moment)
        return _rehearsed(request, week, RestoreForm(initial={"revision": revision}), revision)
    form = RestoreForm(request.POST)
    with transaction.atomic():
        found = access.week_for_editing(request.user, week)
        edit = attempt(form, lambda: restoring.restore(found, member=request.user, **form.cleaned_data))
    if edit is None:
        revision = form.cleaned_data.get("revision")
        return _rehearsed(request, week, form, revision) if revision else _asked_when(request, found, form)
    messages.success(request, said_of(edit, year_words(found.classroom.year)))
    return redirect(week_url(found))


def _revision(request: MemberRequest, week: Week, moment: MomentForm) -> int | None:
    """The revision that an address asks for; None if it asks for none that can be."""
    if moment.is_bound:
        return revision_on(week, moment.cleaned_data["on"]) if moment.is_valid() else None
    number = whole_number(request.GET.get("revision"))
    return number if 1 <= number <= week.revision else None


def _asked_when(request: MemberRequest, week: Week, form: EditForm) -> HttpResponse:
    moment = form if isinstance(form, MomentForm) else MomentForm()
    context = {"week": week, "moment": moment, "back": _history_url(week)}
    return _page(request, week, "history_restore", context, status=refused_status(form) if form.is_bound else 200)


def _rehearsed(request: MemberRequest, week: int, form: RestoreForm, revision: int) -> HttpResponse:
    """The page that shows what would change, worked out now; a refused form's words stay in it."""
    refusal, told = "", None
    with transaction.atomic():
        found = access.week_for_editing(request.user, week)
        try:
            told = restoring_told(restoring.rehearse_restoring(found, member=request.user, revision=revision), found)
        except RuleBroken as broken:
            refusal = broken.message
    context = {
        "week": found,
        "form": form,
        "told": told,
        "refusal": refusal,
        "moment": MomentForm(),
        "back": _history_url(found),
    }
    return _page(request, found, "history_restore", context, status=refused_status(form) if form.is_bound else 200)


@form_methods
@signed_in
def reason(request: MemberRequest, change: int) -> HttpResponse:
    """Say why one made a change: in the panel over the week, or on a page of its own."""
    found = access.change_for_reason(request.user, change)
    form = ReasonForm(request.POST if request.method == "POST" else None, initial={"reason": found.reason})
    kept = attempt(form, lambda: change_reasons.say_why(found, form.cleaned_data["reason"])) if form.is_bound else None
    if kept is not None:
        return _kept(request, kept)
    context = {
        "form": form,
        "change": found,
        "week": found.week,
        "said": deed_said(found, year_words(found.week.classroom.year)),
        "in_panel": is_fragment(request),
        "back": _history_url(found.week),
    }
    status = refused_status(form) if form.is_bound else 200
    return page_or_fragment(
        request, "scheduling/history_reason.html", "scheduling/_history_reason.html", context, status=status
    )


def _kept(request: MemberRequest, change: WeekChange) -> HttpResponse:
    said = "The reason is kept with the change." if change.reason else "The reason is taken out again."
    if not is_fragment(request):
        messages.success(request, said)
        return redirect(_history_url(change.week))
    answer = render(request, "scheduling/_reason_kept.html", {"said": said})
    answer["HX-Retarget"], answer["HX-Reswap"] = "#said", "innerHTML"
    answer["HX-Trigger-After-Settle"] = "teamroom:kept"
    return answer


def _page(request: MemberRequest, week: Week, name: str, context: dict[str, Any], *, status: int = 200) -> HttpResponse:
    place = year_place(request.user, week.classroom.year)
    return year_page(request, place, f"scheduling/{name}.html", {"here": "classrooms", **context}, status=status)


def _history_url(week: Week) -> str:
    return reverse("scheduling:week-history", args=[week.pk])
