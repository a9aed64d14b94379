"""Drafts of a week: putting one in effect, and taking a version out."""

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from scheduling import access
from scheduling.forms.drafts import PutInEffectForm
from scheduling.models import Week
from scheduling.selectors.drafts import version_from_same_date
from scheduling.selectors.edit_clashes import week_clashes_said
from scheduling.selectors.preview_words import preview_told
from scheduling.selectors.week_sheet import version_said
from scheduling.selectors.year_words import year_words
from scheduling.services import drafts
from scheduling.views.answers import form_answer, refused_status, week_url
from scheduling.views.weeks import to_page
from teamroom.common.clock import said_date
from teamroom.common.errors import RuleBroken
from teamroom.common.forms import EditForm, attempt
from teamroom.members.access import year_place
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])


@form_methods
@signed_in
def put_in_effect(request: MemberRequest, week: int) -> HttpResponse:
    """What putting a draft in effect would do to the minutes; sent, it is done."""
    if request.method != "POST":
        return _effect(request, access.week_for_form(request.user, week), PutInEffectForm())
    form = PutInEffectForm(request.POST)
    with transaction.atomic():
        found = access.week_for_editing(request.user, week)
        done = attempt(form, lambda: drafts.put_in_effect(found, member=request.user, **form.cleaned_data))
    if done is None:
        return _effect(request, access.week_for_form(request.user, week), form)
    said = [f"This week is in effect from {said_date(found.starts)}. You can take it out again."]
    messages.success(request, " ".join(said + week_clashes_said(found, year_words(found.classroom.year))))
    return redirect(week_url(found))


def _effect(request: MemberRequest, week: Week, form: PutInEffectForm) -> HttpResponse:
    seen, told, refusal = drafts.mark_of(week), None, ""
    try:
        told = preview_told(drafts.effect_of(week, member=request.user), week.classroom.year)
    except RuleBroken as broken:
        refusal = broken.message
    context = {
        "week": week,
        "said": version_said(week),
        "form": form,
        "seen": seen,
        "told": told,
        "refusal": refusal,
        "same_date": version_from_same_date(week),
        "past": week.starts < week.classroom.year.school.today(),
        "back": week_url(week),
    }
    status = refused_status(form) if form.is_bound else 200
    place = year_place(request.user, week.classroom.year)
    return year_page(request, place, "scheduling/week_put_in_effect.html", context, status=status)


@form_methods
@signed_in
def take_out(request: MemberRequest, week: int) -> HttpResponse:
    """Take a version out of effect: it becomes a draft, with its history."""
    if request.method != "POST":
        return form_answer(request, "week_take_out", access.week_for_form(request.user, week), EditForm(), {})
    form = EditForm(request.POST)
    with transaction.atomic():
        found = access.week_for_editing(request.user, week)
        done = attempt(form, lambda: drafts.take_out(found, member=request.user))
    if done is None:
        return form_answer(request, "week_take_out", found, form, {})
    messages.success(request, "This is a draft now, with its history. Put it in effect again whenever you like.")
    return to_page(request, week_url(found))
