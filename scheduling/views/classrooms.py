"""A classroom's place in the year: added, changed, retired, brought back, removed; and published caps for it."""

from collections.abc import Mapping
from contextlib import suppress
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from scheduling.forms.classrooms import ClassroomForm, as_it_is
from scheduling.selectors.cap_suggestions import cap_suggestions
from scheduling.services import classrooms
from teamroom.common.errors import RuleBroken
from teamroom.common.forms import EditForm, attempt
from teamroom.common.http import UNPROCESSABLE, page_or_fragment
from teamroom.dates.grades import NotUnderstood, parsed_grades
from teamroom.dates.models import SchoolYear
from teamroom.members.access import team_for, year_for, year_place
from teamroom.members.class_access import classroom_for
from teamroom.members.models import Classroom, Team
from teamroom.members.selectors.team_sheet import grade_names, managed_teams
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])


@form_methods
@signed_in
def add(request: MemberRequest, team: int) -> HttpResponse:
    """A new classroom of a team."""
    found = team_for(request.user, team, "manage team")
    grades = {"grades": found.grades} if len(found.grades) == 1 else {}
    form = _form(request, found.year, {"team": found.pk, **grades})
    if form.is_bound:
        made = attempt(form, lambda: classrooms.make_classroom(form.to_be))
        if made is not None:
            messages.success(request, f"{made} is there.{_after(made)} Give it a teacher, who then begins its week.")
            return redirect(_on_sheet(made.team))
    context = {"heading": f"Add a classroom to {found}", "send": "Add the classroom", "back": _on_sheet(found)}
    return _form_page(request, found.year, form, context)


@form_methods
@signed_in
def change(request: MemberRequest, classroom: int) -> HttpResponse:
    """Another name, team or room, other grades or head counts."""
    found = classroom_for(request.user, classroom, "manage team")
    form = _form(request, found.year, as_it_is(found), found.team)
    if form.is_bound:
        changes = attempt(form, lambda: classrooms.change_classroom(found, form.to_be))
        if changes is not None:
            recounted = " Its minutes are counted anew." if changes else ""
            messages.success(request, f"{found} is saved.{recounted}{_after(found)}")
            return redirect(_on_sheet(found.team))
    context = {"heading": f"Change {found}", "send": "Save", "back": _on_sheet(found.team), "classroom": found}
    return _form_page(request, found.year, form, {**context, "over": _over(found)})


@require_POST
@signed_in
def retire(request: MemberRequest, classroom: int) -> HttpResponse:
    """Out of the lists, with everything kept."""
    found = classroom_for(request.user, classroom, "manage team")
    classrooms.retire_classroom(found)
    messages.success(request, f"{found} is retired. Its weeks stay readable; bring it back from Retired below.")
    return redirect(_on_sheet(found.team))


@require_POST
@signed_in
def bring_back(request: MemberRequest, classroom: int) -> HttpResponse:
    """Into the lists again."""
    found = classroom_for(request.user, classroom, "manage team")
    try:
        classrooms.bring_classroom_back(found)
    except RuleBroken as broken:
        messages.error(request, broken.message)
    else:
        messages.success(request, f"{found} is back.")
    return redirect(_on_sheet(found.team))


@form_methods
@signed_in
def remove(request: MemberRequest, classroom: int) -> HttpResponse:
    """Take a classroom away that never had a week."""
    found = classroom_for(request.user, classroom, "manage team")
    form = EditForm(request.POST if request.method == "POST" else None)
    if request.method == "POST":
        name = str(found)
        if attempt(form, lambda: (classrooms.remove_classroom(found), True)) is not None:
            messages.success(request, f"{name} is removed.")
            return redirect(_on_sheet(found.team))
    context = {
        "classroom": found,
        "form": form,
        "kept": classrooms.why_kept(found),
        "back": reverse("scheduling:classroom-change", args=[found.pk]),
        "here": "teams",
    }
    place = year_place(request.user, found.year)
    return year_page(request, place, "scheduling/classroom_remove.html", context, status=_status(form))


@require_safe
@signed_in
def caps(request: MemberRequest, year: int) -> HttpResponse:
    """The published caps for a class of the grades typed, where the school is."""
    place = year_for(request.user, year)
    context = {
        "place": place,
        "year": place.year,
        "caps": cap_suggestions(place.year.school, _grades(request.GET.get("grades", ""), place.year)),
        "here": "teams",
    }
    return page_or_fragment(request, "scheduling/cap_suggestions.html", "scheduling/_cap_suggestions.html", context)


def _form(request: MemberRequest, year: SchoolYear, told: Mapping[str, Any], team: Team | None = None) -> ClassroomForm:
    """The form: bound where it was sent to be saved. A cap taken from the list beside it only fills
    the field, and looking for the caps of other grades keeps what was typed."""
    teams = list(managed_teams(year, request.user, year_place(request.user, year).roles).filter(retired=False))
    if team is not None and team not in teams:
        teams.append(team)
    also = grade_names(year)
    if request.method != "POST":
        return ClassroomForm(initial=dict(told), teams=teams, also=also)
    if "take_cap" in request.POST or "look" in request.POST:
        typed = {**request.POST.dict(), **({"cap": request.POST["take_cap"]} if "take_cap" in request.POST else {})}
        return ClassroomForm(initial=typed, teams=teams, also=also)
    return ClassroomForm(request.POST, teams=teams, also=also)


def _form_page(
    request: MemberRequest, year: SchoolYear, form: ClassroomForm, context: Mapping[str, Any]
) -> HttpResponse:
    typed = form["grades"].value() or ""
    caps = cap_suggestions(year.school, _grades(typed, year))
    told = {"form": form, "caps": caps, "here": "teams", **context}
    place = year_place(request.user, year)
    return year_page(request, place, "scheduling/classroom_form.html", told, status=_status(form))


def _grades(typed: str, year: SchoolYear) -> list[str]:
    """The grades typed so far; none where they are not understood, which saving will say."""
    with suppress(NotUnderstood):
        return parsed_grades(typed[:300], also=grade_names(year))
    return []


def _after(classroom: Classroom) -> str:
    over = _over(classroom)
    return f" {over}" if over else ""


def _over(classroom: Classroom) -> str:
    """A caution where more pupils are enrolled than the cap allows."""
    if classroom.enrolment is None or classroom.cap is None or classroom.enrolment <= classroom.cap:
        return ""
    more = classroom.enrolment - classroom.cap
    return (
        f"{classroom.enrolment} pupils are {more} above its cap of {classroom.cap}: "
        "ask the office what the agreement or the law asks for then."
    )


def _on_sheet(team: Team) -> str:
    return f"{reverse('members:teams', args=[team.year_id])}#team-{team.pk}"


def _status(form: EditForm) -> int:
    return UNPROCESSABLE if form.is_bound and form.errors else 200
