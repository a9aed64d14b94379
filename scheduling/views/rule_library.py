"""Adopting published rules: a jurisdiction's, those ticked, with a preview, and taking an adoption back."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from scheduling.forms.rules.library import AdoptForm
from scheduling.rule_library.library import Jurisdiction
from scheduling.selectors.rule_library_page import library_page, name_lines, place_choices, place_for
from scheduling.selectors.year_grades import grades_of
from scheduling.selectors.year_words import year_words
from scheduling.services.rule_adoption import adopt as adopt_rules
from scheduling.services.rule_adoption import planned_adoption
from scheduling.services.rules import retire_rules
from scheduling.views.adoption_words import AdoptionSaid, adopted_said, adoption_said
from scheduling.views.rules import HERE
from teamroom.common.forms import attempt
from teamroom.common.http import UNPROCESSABLE, is_fragment
from teamroom.common.numbers import whole_number
from teamroom.common.wording import counted
from teamroom.dates.places import state_name
from teamroom.members.access import YearPlace, year_for
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page


@require_safe
@signed_in
def library(request: MemberRequest, year: int) -> HttpResponse:
    """The rules of a jurisdiction, `?place=us-ca`, else of the school's own."""
    place = year_for(request.user, year, "set up year")
    where = place_for(place.year.school, request.GET.get("place", ""))
    return _page(request, place, where, _form(request, place, where) if where else None)


@require_POST
@signed_in
def preview(request: MemberRequest, year: int) -> HttpResponse:
    """What adopting would do. Nothing is written."""
    place = year_for(request.user, year, "set up year")
    where = place_for(place.year.school, request.POST.get("place", "-"))
    if where is None:
        return _page(request, place, None, None, status=UNPROCESSABLE)
    form = _form(request, place, where)
    if is_fragment(request) and form.wanting:
        return render(request, "scheduling/_rule_adoption.html", {"form": form, "wanting": form.wanting})
    said = _planned(place, form)
    status = UNPROCESSABLE if form.errors else 200
    if is_fragment(request):
        return render(request, "scheduling/_rule_adoption.html", {"form": form, "said": said}, status=status)
    return _page(request, place, where, form, said=said, status=status)


@require_POST
@signed_in
def adopt(request: MemberRequest, year: int) -> HttpResponse:
    """Adopt what is ticked; the page of rules then tells how many classrooms meet it."""
    place = year_for(request.user, year, "set up year")
    where = place_for(place.year.school, request.POST.get("place", "-"))
    if where is None:
        return _page(request, place, None, None, status=UNPROCESSABLE)
    form = _form(request, place, where)
    done = attempt(form, lambda: adopt_rules(place.year, **form.asked))
    if done is None:
        return _page(request, place, where, form, status=UNPROCESSABLE)
    messages.success(request, adopted_said(place.year, done))
    added = ",".join(str(rule.pk) for rule in done.added)
    return redirect(f"{reverse('scheduling:rules', args=[year])}{f'?adopted={added}' if added else ''}")


@require_POST
@signed_in
def take_back(request: MemberRequest, year: int) -> HttpResponse:
    """Retire again what an adoption added; each can be brought back."""
    place = year_for(request.user, year, "set up year")
    ids = [number for text in request.POST.getlist("rule")[:200] if (number := whole_number(text))]
    gone = retire_rules(place.year, ids)
    messages.success(request, f"{counted(len(gone), 'rule')} taken out again. Activities that came with them stay.")
    return redirect("scheduling:rules", year)


def _form(request: MemberRequest, place: YearPlace, where: Jurisdiction) -> AdoptForm:
    words, grades = year_words(place.year), grades_of(place.year)
    posted = request.POST if request.method == "POST" else None
    page, names = library_page(place.year, where, grades), name_lines(where, words)
    return AdoptForm(posted, page=page, names=names, words=words, grades=grades)


def _planned(place: YearPlace, form: AdoptForm) -> AdoptionSaid | None:
    planned = attempt(form, lambda: planned_adoption(place.year, **form.asked))
    return None if planned is None else adoption_said(planned, year_words(place.year))


def _page(
    request: MemberRequest,
    place: YearPlace,
    where: Jurisdiction | None,
    form: AdoptForm | None,
    *,
    said: AdoptionSaid | None = None,
    status: int = 200,
) -> HttpResponse:
    own_state = state_name(place.year.school.place)
    context = {**HERE, "where": where, "places": place_choices(), "own_state": own_state, "form": form, "said": said}
    return year_page(request, place, "scheduling/rule_library.html", context, status=status)
