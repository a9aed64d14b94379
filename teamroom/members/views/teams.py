"""The teams of a year: the sheet, and its verbs on a team."""

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.text import get_text_list
from django.views.decorators.http import require_http_methods, require_safe

from teamroom.common.forms import attempt
from teamroom.common.http import UNPROCESSABLE
from teamroom.members.access import team_for, year_for, year_place
from teamroom.members.forms.teams import BringBackForm, TeamForm
from teamroom.members.models import Classroom, Team
from teamroom.members.selectors.team_sheet import grade_names, team_sheet
from teamroom.members.services import teams
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@signed_in
def sheet(request: MemberRequest, year: int) -> HttpResponse:
    """Every team of the year with its people and classrooms; whoever has a part in the year reads it."""
    place = year_for(request.user, year)
    told = team_sheet(place.year, request.user, place.roles)
    return year_page(request, place, "members/teams.html", {"sheet": told, "here": "teams"})


@form_methods
@signed_in
def add(request: MemberRequest, year: int) -> HttpResponse:
    """A new team."""
    place = year_for(request.user, year, "set up year")
    form = TeamForm(_sent(request), also=grade_names(place.year))
    if request.method == "POST":
        made = attempt(form, lambda: teams.make_team(place.year, form.to_be))
        if made is not None:
            messages.success(request, f"{made} is there. Add its classrooms, and invite its people.")
            return redirect(_on_sheet(made))
    context = {"form": form, "heading": "Add a team", "send": "Add the team", "back": _sheet(place.year.pk)}
    return year_page(request, place, "members/team_form.html", {**context, "here": "teams"}, status=_status(form))


@form_methods
@signed_in
def change(request: MemberRequest, team: int) -> HttpResponse:
    """Another name, other grades, another way of editing."""
    found = team_for(request.user, team, "manage team")
    told = {"name": found.name, "grades": found.grades, "edits_together": found.edits_together}
    form = TeamForm(_sent(request), initial=told, also=grade_names(found.year))
    if request.method == "POST" and attempt(form, lambda: teams.change_team(found, form.to_be)) is not None:
        may = (
            "each other\N{RIGHT SINGLE QUOTATION MARK}s weeks"
            if found.edits_together
            else "the weeks of their own class"
        )
        messages.success(request, f"{found} is saved. Its teachers may change {may}.")
        return redirect(_on_sheet(found))
    context = {"form": form, "heading": f"Change {found}", "send": "Save", "back": _on_sheet(found), "team": found}
    place = year_place(request.user, found.year)
    return year_page(request, place, "members/team_form.html", {**context, "here": "teams"}, status=_status(form))


@form_methods
@signed_in
def retire(request: MemberRequest, team: int) -> HttpResponse:
    """Take a team and its classrooms out of the lists, after saying which."""
    found = team_for(request.user, team, "manage team")
    if request.method == "POST":
        rooms = teams.retire_team(found)
        also = f", and with it {_named(rooms)}" if rooms else ""
        messages.success(request, f"{found} is retired{also}. It stands under Retired, where you can bring it back.")
        return redirect(_sheet(found.year_id))
    rooms = list(found.classrooms.filter(retired=False).order_by("name", "key"))
    context = {"team": found, "rooms": rooms, "back": _on_sheet(found), "here": "teams"}
    return year_page(request, year_place(request.user, found.year), "members/team_retire.html", context)


@form_methods
@signed_in
def bring_back(request: MemberRequest, team: int) -> HttpResponse:
    """Put a retired team back, with the classrooms that are ticked."""
    found = team_for(request.user, team, "manage team")
    form = BringBackForm(_sent(request), rooms=_retired_rooms(found))
    if request.method == "POST":
        chosen = form.cleaned_data.get("classrooms", []) if form.is_valid() else []
        rooms = teams.bring_team_back(found, chosen)
        also = f" with {_named(rooms)}" if rooms else ""
        messages.success(request, f"{found} is back{also}.")
        return redirect(_on_sheet(found))
    context = {"form": form, "heading": f"Bring back {found}", "send": "Bring it back", "back": _sheet(found.year_id)}
    place = year_place(request.user, found.year)
    return year_page(request, place, "members/team_form.html", {**context, "here": "teams"}, status=_status(form))


def _retired_rooms(team: Team) -> list[Classroom]:
    return list(team.classrooms.filter(retired=True).order_by("name", "key"))


def _named(rooms: list[Classroom]) -> str:
    return get_text_list([str(room) for room in rooms], "and")


def _sent(request: MemberRequest) -> QueryDict | None:
    return request.POST if request.method == "POST" else None


def _sheet(year: int) -> str:
    return reverse("members:teams", args=[year])


def _on_sheet(team: Team) -> str:
    return f"{_sheet(team.year_id)}#team-{team.pk}"


def _status(form: TeamForm | BringBackForm) -> int:
    return UNPROCESSABLE if form.is_bound and form.errors else 200
