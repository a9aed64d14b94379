"""The rules of a year: the page that tells them, and taking one away or bringing it back."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from scheduling import access
from scheduling.selectors.retired_rules import retired_rules
from scheduling.selectors.rule_outcomes import shortfalls_said, standings_of
from scheduling.selectors.rules_page import rule_groups
from scheduling.services import rules as services
from teamroom.common.errors import RuleBroken
from teamroom.common.numbers import whole_number
from teamroom.dates.models import SchoolYear
from teamroom.members.access import year_for
from teamroom.members.selectors.readable import readable_in
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

HERE = {"here": "rules"}


@require_safe
@signed_in
def rules(request: MemberRequest, year: int) -> HttpResponse:
    """Every rule of the year; the figures are those of the classrooms the reader may see."""
    place = year_for(request.user, year)
    mine = readable_in(place.year, request.user, place.roles)
    rooms = [room for room in place.year.classrooms.filter(retired=False).order_by("name", "key") if room in mine]
    retired = retired_rules(place.year) if place.may_set_up else []
    context = {
        **HERE,
        "groups": rule_groups(place.year, rooms),
        "all_of_year": mine.all_of_year,
        "retired": retired,
        "just_retired": next((one for one in retired if str(one.pk) == request.GET.get("retired")), None),
        "just_adopted": _numbers(request.GET.get("adopted", "")) if place.may_set_up else [],
    }
    return year_page(request, place, "scheduling/rules.html", context)


@require_POST
@signed_in
def retire(request: MemberRequest, year: int, rule: int) -> HttpResponse:
    """Take a rule away; the answer offers to bring it back."""
    place, found = access.rule_for(request.user, year, rule, "set up year")
    services.retire_rule(found)
    return redirect(f"{reverse('scheduling:rules', args=[place.year.pk])}?retired={rule}")


@require_POST
@signed_in
def bring_back(request: MemberRequest, year: int, rule: int) -> HttpResponse:
    """Put a retired rule back as it was."""
    place = year_for(request.user, year, "set up year")
    try:
        back = services.bring_back(place.year, rule)
    except RuleBroken as broken:
        messages.error(request, broken.message)
        return redirect("scheduling:rules", year)
    messages.success(request, f"{back.name} is back. {said_of(place.year, back.pk)}")
    return redirect(f"{reverse('scheduling:rules', args=[year])}#rule-{back.pk}")


def said_of(year: SchoolYear, rule: int) -> str:
    """How many of the year's classrooms meet a rule, and which do not."""
    rooms = year.classrooms.filter(retired=False).order_by("name", "key")
    return shortfalls_said(standings_of(rooms, [rule]).get(rule, []))


def _numbers(written: str) -> list[int]:
    return [number for text in written.split(",")[:200] if (number := whole_number(text))]
