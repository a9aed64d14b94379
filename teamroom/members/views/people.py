"""The people of a school in one year: who has which part, giving and taking it."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from teamroom.common.errors import Denied, RuleBroken
from teamroom.common.forms import EditForm, attempt
from teamroom.common.http import UNPROCESSABLE
from teamroom.common.wording import counted
from teamroom.members.access import PeoplePlace, people_for, person_for
from teamroom.members.forms.people import SchoolRoleForm, TakeTeamRoleForm, TeamRoleForm
from teamroom.members.models import Member
from teamroom.members.roles import SCHOOL_ROLES, TEAM_ROLES
from teamroom.members.selectors.people import NO_PART, other_parts, parts_in, people_page
from teamroom.members.services import people
from teamroom.members.services.closing import check_for_closing, close_account, reopen_account
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page


@require_safe
@signed_in
def people_of_year(request: MemberRequest, year: int) -> HttpResponse:
    """Everybody with a part in the year, and who is on the way in; a lead's own team alone for a lead."""
    place = people_for(request.user, year)
    team, words = request.GET.get("team", ""), request.GET.get("q", "").replace("\0", "")[:200]
    shown = people_page(place.year, led=None if place.whole_school else place.led, team=team, words=words)
    context = {"shown": shown, "place": place, "team": team, "words": words, "no_part": NO_PART, "here": "people"}
    return year_page(request, place, "members/people.html", context)


@require_safe
@signed_in
def person(request: MemberRequest, year: int, person: int) -> HttpResponse:
    """One of them: what they are to the school and its teams, with the verbs on it."""
    place, found = person_for(request.user, year, person)
    return _person(request, place, found)


@require_POST
@signed_in
def give_school_role(request: MemberRequest, year: int, person: int) -> HttpResponse:
    """Make somebody something to the whole school."""
    place, found = person_for(request.user, year, person, "manage people")
    form = SchoolRoleForm(request.POST)
    if not form.is_valid():
        return _person(request, place, found, school_form=form)
    role = next(role for role in SCHOOL_ROLES if role == form.cleaned_data["role"])
    people.give_school_role(found, place.year.school, role)
    messages.success(request, f"{found} is {_article(role)} of {place.year.school} now, in every year of it.")
    return _back(place, found)


@require_POST
@signed_in
def take_school_role(request: MemberRequest, year: int, person: int) -> HttpResponse:
    """Take a role in the school away again."""
    place, found = person_for(request.user, year, person, "manage people")
    form = SchoolRoleForm(request.POST)
    role = next((role for role in SCHOOL_ROLES if role == request.POST.get("role")), None)
    gone = attempt(form, lambda: people.take_school_role(found, place.year.school, role)) if role else None
    if gone is None:
        return _refused(request, place, found, form)
    messages.success(request, f"{found} is no longer {_article(role or '')} of {place.year.school}.{_also(gone)}")
    return _back(place, found, f"?role={role}", own_part=found == request.user)


@require_POST
@signed_in
def give_team_role(request: MemberRequest, year: int, person: int) -> HttpResponse:
    """Make somebody something to a team, in place of what they were to it."""
    place, found = person_for(request.user, year, person)
    if not place.may_invite:
        raise Denied("manage team")
    form = TeamRoleForm(place, request.POST)
    if not form.is_valid():
        return _person(request, place, found, team_form=form)
    team, chosen = form.cleaned_data["team"], form.cleaned_data["role"]
    role = next(role for role in TEAM_ROLES if role == chosen)
    if attempt(form, lambda: people.give_team_role(found, team, role)) is None:
        return _person(request, place, found, team_form=form)
    messages.success(request, f"{found} is {role} of {team} now.")
    return _back(place, found, own_part=found == request.user)


@require_POST
@signed_in
def take_team_role(request: MemberRequest, year: int, person: int) -> HttpResponse:
    """Take somebody out of a team; their classes stay theirs until somebody else is put on them."""
    place, found = person_for(request.user, year, person)
    form = TakeTeamRoleForm(place.year, request.POST)
    if not place.may_invite:
        raise Denied("manage team")
    if not form.is_valid():
        return _refused(request, place, found, form)
    team = form.cleaned_data["team"]
    if not place.may_change_team(team):
        raise Denied("manage team")
    was = found.team_roles.filter(team=team).values_list("role", flat=True).first() or ""
    gone = people.take_team_role(found, team)
    messages.success(request, f"{found} is no longer in {team}.{_also(gone)}")
    return _back(place, found, f"?team={team.pk}&team_role={was}", own_part=found == request.user)


@require_http_methods(["GET", "HEAD", "POST"])
@signed_in
def close(request: MemberRequest, year: int, person: int) -> HttpResponse:
    """Close somebody's account, after saying what that does."""
    place, found = person_for(request.user, year, person, "manage people")
    form = EditForm(request.POST if request.method == "POST" else None)
    if request.method == "POST":
        gone = attempt(form, lambda: close_account(found, by=request.user))
        if gone is not None:
            messages.success(request, f"The account of {found} is closed: nobody signs in with it.{_also(gone)}")
            return _back(place, found)
    context = {"person": found, "form": form, "here": "people", "back": _url(place, found)}
    status = UNPROCESSABLE if form.errors else 200
    return year_page(request, place, "members/person_close.html", context, status=status)


@require_POST
@signed_in
def reopen(request: MemberRequest, year: int, person: int) -> HttpResponse:
    """Open a closed account again, with the roles it had."""
    place, found = person_for(request.user, year, person, "manage people")
    form = EditForm(request.POST)
    if attempt(form, lambda: reopen_account(found, by=request.user)) is None:
        return _refused(request, place, found, form)
    messages.success(request, f"The account of {found} is open again, with the roles it had.")
    return _back(place, found)


def _person(
    request: MemberRequest,
    place: PeoplePlace,
    found: Member,
    *,
    school_form: SchoolRoleForm | None = None,
    team_form: TeamRoleForm | None = None,
    refused: str = "",
) -> HttpResponse:
    """The person's page; what was just taken away stands ready in the forms to be given back."""
    asked = request.GET
    context = {
        "person": found,
        "parts": parts_in(place.year, [found])[found.pk],
        "other_parts": other_parts(place.year, found) if place.whole_school else [],
        "school_form": school_form or SchoolRoleForm(initial={"role": asked.get("role", "")}, auto_id="school_%s"),
        "team_form": team_form
        or TeamRoleForm(place, initial={"team": asked.get("team"), "role": asked.get("team_role")}, auto_id="team_%s"),
        "not_to_close": _not_to_close(place, found, request.user),
        "refused": refused,
        "here": "people",
    }
    wrong = refused or (school_form or team_form)
    return year_page(request, place, "members/person.html", context, status=UNPROCESSABLE if wrong else 200)


def _refused(request: MemberRequest, place: PeoplePlace, found: Member, form: EditForm) -> HttpResponse:
    """The person's page with why a verb without fields of its own was not done."""
    return _person(request, place, found, refused=form.faults[0] if form.faults else "Choose from the list.")


def _not_to_close(place: PeoplePlace, found: Member, by: Member) -> str:
    """Why this account is not for them to close or open, in a sentence; '' where it is."""
    if not place.may_manage_people:
        return "Closing an account is for an administrator."
    if found == by:
        return "Your own account another administrator closes."
    try:
        check_for_closing(found, by=by)
    except RuleBroken as broken:
        return broken.message
    return ""


def _article(role: str) -> str:
    return f"an {role}" if role == "administrator" else f"a {role}"


def _also(withdrawn: int) -> str:
    if not withdrawn:
        return ""
    return (
        f" {counted(withdrawn, 'open invitation')} of theirs no longer let{'s' if withdrawn == 1 else ''} anybody in."
    )


def _url(place: PeoplePlace, found: Member) -> str:
    return reverse("members:person", args=[place.year.pk, found.pk])


def _back(place: PeoplePlace, found: Member, query: str = "", *, own_part: bool = False) -> HttpResponse:
    """To the person's page; who changed their own part may have lost the way to it."""
    return redirect("home") if own_part else redirect(_url(place, found) + query)
