"""The district's page of schools, and the page of one school."""

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from teamroom.common.errors import RuleBroken
from teamroom.common.forms import EditForm, attempt
from teamroom.common.http import UNPROCESSABLE
from teamroom.dates.forms import YearFields
from teamroom.dates.models import School, SchoolYear
from teamroom.dates.services import begin_school_year
from teamroom.members.access import invitation_for, require_in_district, school_for
from teamroom.members.models import Member
from teamroom.members.roles import may
from teamroom.members.selectors.roles_held import roles_in_school
from teamroom.members.services import invitations
from teamroom.members.services.district import give_district_role, take_district_role
from teamroom.members.services.invitations import Made, Offer
from teamroom.members.services.schools import found_school
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.views.invitations import link_maker, shown_once
from teamroom.schools.forms import DistrictForm, FoundForm, SchoolInviteForm
from teamroom.schools.selectors import district_administrators, school_lines, school_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@signed_in
def schools(request: MemberRequest) -> HttpResponse:
    """Every school with how its current year stands; for the district alone."""
    require_in_district(request.user, "found school")
    return _schools(request, DistrictForm())


@form_methods
@signed_in
def found(request: MemberRequest) -> HttpResponse:
    """Found a school, and invite who sets it up."""
    require_in_district(request.user, "found school")
    form = FoundForm(request.POST if request.method == "POST" else None)
    if request.method == "POST":
        done = attempt(form, lambda: _found(request, form))
        if done is not None:
            school, made = done
            messages.success(request, f"{school} is founded.")
            return redirect("school", school.pk) if made is None else _shown(request, school, made)
    context = {"form": form, "district": True}
    return render(request, "schools/found.html", context, status=UNPROCESSABLE if form.errors else 200)


@transaction.atomic
def _found(request: MemberRequest, form: FoundForm) -> tuple[School, Made | None]:
    given = form.cleaned_data
    school = found_school(name=given["name"], time_zone=given["time_zone"], place=given["place"])
    if not given["email"]:
        return school, None
    return school, _invited(request, school, given["email"], "administrator")


@require_safe
@signed_in
def school(request: MemberRequest, school: int) -> HttpResponse:
    """A school's years, and who looks after the whole of it."""
    place = school_for(request.user, school, "manage people")
    roles = roles_in_school(request.user, place)
    context = {
        "school": place,
        "shown": school_page(place),
        "may_set_up": may(roles, "set up year"),
        "district": may(roles, "found school"),
    }
    return render(request, "schools/school.html", context)


@form_methods
@signed_in
def begin_year(request: MemberRequest, school: int) -> HttpResponse:
    """Begin a school's first year, or its next."""
    place = school_for(request.user, school, "set up year")
    form = YearFields(request.POST if request.method == "POST" else None)
    if request.method == "POST":
        year = attempt(form, lambda: _begun(place, form))
        if year is not None:
            messages.success(request, f"{year} has begun. It has no teams and no rules yet: go on with the list below.")
            return redirect("setup", year.pk)
    context = {"form": form, "school": place}
    return render(request, "schools/begin_year.html", context, status=UNPROCESSABLE if form.errors else 200)


def _begun(school: School, form: YearFields) -> SchoolYear:
    given = form.cleaned_data
    return begin_school_year(school, name=given["year_name"], first_day=given["first_day"], last_day=given["last_day"])


@form_methods
@signed_in
def invite(request: MemberRequest, school: int) -> HttpResponse:
    """Invite somebody to look after the whole school."""
    place = school_for(request.user, school, "manage people")
    form = SchoolInviteForm(request.POST if request.method == "POST" else None)
    if request.method == "POST":
        made = attempt(form, lambda: _invited(request, place, **form.cleaned_data))
        if made is not None:
            return _shown(request, place, made)
    context = {"form": form, "school": place}
    return render(request, "schools/invite.html", context, status=UNPROCESSABLE if form.errors else 200)


@require_POST
@signed_in
def renew(request: MemberRequest, school: int, invitation: int) -> HttpResponse:
    """A fresh link for an invitation to look after the school."""
    place = school_for(request.user, school, "manage people")
    row = invitation_for(request.user, invitation, school=place)
    try:
        return _shown(request, place, invitations.renew(row, by=request.user, address_of=link_maker(request)))
    except RuleBroken as broken:
        messages.error(request, broken.message)
        return redirect("school", place.pk)


@require_POST
@signed_in
def revoke(request: MemberRequest, school: int, invitation: int) -> HttpResponse:
    """Take such an invitation back."""
    place = school_for(request.user, school, "manage people")
    row = invitation_for(request.user, invitation, school=place)
    try:
        invitations.revoke(row)
        messages.success(request, f"The invitation of {row.email} is taken back: its link lets nobody in.")
    except RuleBroken as broken:
        messages.error(request, broken.message)
    return redirect("school", place.pk)


@require_POST
@signed_in
def give_district(request: MemberRequest) -> HttpResponse:
    """Make somebody who has an account a district administrator."""
    require_in_district(request.user, "found school")
    form = DistrictForm(request.POST)
    member = attempt(form, lambda: give_district_role(email=form.cleaned_data["email"]))
    if member is None:
        return _schools(request, form)
    messages.success(request, f"{member} is a district administrator now, and reads every school.")
    return redirect("schools")


@require_POST
@signed_in
def take_district(request: MemberRequest, person: int) -> HttpResponse:
    """Take the district's role away, from oneself too while somebody else has it."""
    require_in_district(request.user, "found school")
    member = Member.objects.filter(pk=person, district_role__isnull=False).first()
    if member is None:
        raise Http404
    form = EditForm(request.POST)
    if attempt(form, lambda: take_district_role(member) >= 0) is None:
        return _schools(request, DistrictForm(), refused=form.faults[0])
    messages.success(request, f"{member} is no longer a district administrator.")
    return redirect("home" if member == request.user else "schools")


def _schools(request: MemberRequest, form: DistrictForm, *, refused: str = "") -> HttpResponse:
    context = {
        "lines": school_lines(),
        "administrators": district_administrators(),
        "form": form,
        "refused": refused,
        "district": True,
    }
    return render(request, "schools/schools.html", context, status=UNPROCESSABLE if form.errors or refused else 200)


def _invited(
    request: MemberRequest, school: School, email: str, school_role: str, name: str = "", days: int = 14
) -> Made:
    return invitations.invite(
        by=request.user,
        school=school,
        email=email,
        name=name,
        offer=Offer(school_role=school_role),
        days=days,
        address_of=link_maker(request),
    )


def _shown(request: MemberRequest, school: School, made: Made) -> HttpResponse:
    back = {"back": reverse("school", args=[school.pk]), "back_to": "school"}
    return render(request, "schools/invitation_made.html", {**shown_once(made), **back, "school": school})
