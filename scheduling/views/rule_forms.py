"""Writing a rule: adding one, changing one, copying one, and what it would demand, before it is saved."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from scheduling import access
from scheduling.forms.rules.laying_out import laid_out
from scheduling.forms.rules.rule import RuleForm
from scheduling.forms.rules.shown import Step
from scheduling.models import Rule
from scheduling.selectors.rule_outcomes import RuleOutcome, outcome_of
from scheduling.selectors.year_grades import grades_of
from scheduling.selectors.year_words import year_words
from scheduling.services.rules import Wording, add_rule, change_rule, state_of, wording_of
from scheduling.views.rules import HERE, said_of
from teamroom.common.forms import attempt
from teamroom.common.http import CONFLICT, UNPROCESSABLE, is_fragment
from teamroom.members.access import YearPlace, year_for
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])


@form_methods
@signed_in
def add(request: MemberRequest, year: int) -> HttpResponse:
    """Write a rule of the school's own."""
    place = year_for(request.user, year, "set up year")
    form = _form(request, place, initial={"grades": ", ".join(grades_of(place.year))})
    if request.method != "POST":
        return _page(request, place, form)
    if step := laid_out(form):
        return _page(request, place, form, step=step)
    added = attempt(form, lambda: add_rule(place.year, form.wording))
    if added is None:
        return _page(request, place, form, status=UNPROCESSABLE)
    messages.success(request, f"{added.name} is added. {said_of(place.year, added.pk)}")
    return _to_rule(added)


@form_methods
@signed_in
def edit(request: MemberRequest, year: int, rule: int) -> HttpResponse:
    """Change a rule, a published one too: what the school adopted is its own."""
    place, found = access.rule_for(request.user, year, rule, "set up year")
    form = _form(request, place, before=wording_of(found), initial={"seen": state_of(found)})
    if request.method != "POST":
        return _page(request, place, form, rule=found)
    if step := laid_out(form):
        return _page(request, place, form, rule=found, step=step)
    changed = attempt(form, lambda: change_rule(found, form.wording, seen=form.cleaned_data["seen"]))
    if form.stale:
        return _overtaken(request, place, form, rule)
    if changed is None:
        return _page(request, place, form, rule=found, status=UNPROCESSABLE)
    messages.success(request, f"{changed.name} is saved. {said_of(place.year, changed.pk)}")
    return _to_rule(changed)


@require_safe
@signed_in
def copy(request: MemberRequest, year: int, rule: int) -> HttpResponse:
    """The form for a new rule, filled in from another; nothing is written before it is sent."""
    place, found = access.rule_for(request.user, year, rule, "set up year")
    wording = wording_of(found)
    form = _form(request, place, before=wording, initial={"name": f"{wording.name[:190]} (copy)"})
    return _page(request, place, form, copied=found)


@require_POST
@signed_in
def preview(request: MemberRequest, year: int) -> HttpResponse:
    """What the rule in the form demands and which classrooms meet it now. Nothing is written."""
    place = year_for(request.user, year, "set up year")
    return _preview(request, place, _form(request, place))


@require_POST
@signed_in
def preview_changed(request: MemberRequest, year: int, rule: int) -> HttpResponse:
    """The same for a rule that is there: what it already names, it may go on naming."""
    place, found = access.rule_for(request.user, year, rule, "set up year")
    return _preview(request, place, _form(request, place, before=wording_of(found)))


def _form(request: MemberRequest, place: YearPlace, before: Wording | None = None, **more: Any) -> RuleForm:
    posted = request.POST if request.method == "POST" else None
    return RuleForm(posted, words=year_words(place.year), grades=grades_of(place.year), before=before, **more)


def _preview(request: MemberRequest, place: YearPlace, form: RuleForm) -> HttpResponse:
    outcome = _outcome(place, form)
    status = 200 if outcome else UNPROCESSABLE
    context = {**HERE, "outcome": outcome, "form": form}
    if is_fragment(request):
        return render(request, "scheduling/_rule_preview.html", context, status=status)
    return year_page(request, place, "scheduling/rule_preview.html", context, status=status)


def _outcome(place: YearPlace, form: RuleForm) -> RuleOutcome | None:
    """The form's rule worked out, sent or not; None while it cannot be read."""
    rule = form.rule()
    return None if rule is None else outcome_of(place.year, rule)


def _overtaken(request: MemberRequest, place: YearPlace, form: RuleForm, rule: int) -> HttpResponse:
    """Somebody changed or retired the rule first: both versions, and nothing typed is lost."""
    place.year.refresh_from_db(fields=["revision"])
    now = Rule.objects.filter(year=place.year, pk=rule).first()
    said = year_words(place.year).rules[now.pk] if now else None
    return _page(request, place, form, rule=now, status=CONFLICT, now=said, seen=state_of(now) if now else "")


def _page(
    request: MemberRequest,
    place: YearPlace,
    form: RuleForm,
    *,
    rule: Rule | None = None,
    step: Step | None = None,
    status: int = 200,
    **more: Any,
) -> HttpResponse:
    """The form with its preview beside it: the whole page, or for htmx the two pieces that change."""
    shown = form.as_typed() if step else form
    context = {
        **HERE,
        **_addresses(place.year.pk, rule),
        **more,
        "form": shown,
        "parts": shown.shown(step or Step()),
        "outcome": _outcome(place, form),
        "rule": rule,
    }
    if is_fragment(request):
        return render(request, "scheduling/_rule_laid_out.html", {**context, "year": place.year}, status=status)
    return year_page(request, place, "scheduling/rule.html", context, status=status)


def _addresses(year: int, rule: Rule | None) -> dict[str, str]:
    """Where the form is sent, and where its preview is asked."""
    if rule is None:
        names, ids = ("scheduling:rule-add", "scheduling:rule-preview"), [year]
    else:
        names, ids = ("scheduling:rule-edit", "scheduling:rule-edit-preview"), [year, rule.pk]
    action, preview_at = (reverse(name, args=ids) for name in names)
    return {"action": action, "preview_at": preview_at}


def _to_rule(rule: Rule) -> HttpResponse:
    return redirect(f"{reverse('scheduling:rules', args=[rule.year_id])}#rule-{rule.pk}")
