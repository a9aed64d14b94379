"""Inviting people, and taking invitations back."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from teamroom.common.errors import Denied, RuleBroken
from teamroom.common.forms import attempt
from teamroom.common.http import UNPROCESSABLE
from teamroom.members.access import PeoplePlace, invitation_for, people_for
from teamroom.members.forms.people import InviteForm
from teamroom.members.models import Invitation
from teamroom.members.selectors.invitations import date_at, given
from teamroom.members.services import invitations
from teamroom.members.services.invitations import Made
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page


@require_http_methods(["GET", "HEAD", "POST"])
@signed_in
def invite(request: MemberRequest, year: int) -> HttpResponse:
    """Invite somebody to the school or a team; the answer shows the link, once."""
    place = people_for(request.user, year)
    if not place.may_invite:
        raise Denied("manage people")
    form = InviteForm(place, request.POST if request.method == "POST" else None, initial=_asked(request))
    if request.method == "POST":
        made = attempt(form, lambda: _invited(request, place, form))
        if made is not None:
            return _shown(request, place, made)
    context = {"form": form, "here": "people"}
    return year_page(request, place, "members/invite.html", context, status=UNPROCESSABLE if form.errors else 200)


@require_POST
@signed_in
def renew(request: MemberRequest, year: int, invitation: int) -> HttpResponse:
    """A fresh link for an invitation that ran out, was lost or was taken back."""
    place, found = _found(request, year, invitation)
    try:
        made = invitations.renew(found, by=request.user, address_of=link_maker(request))
    except RuleBroken as broken:
        messages.error(request, broken.message)
        return redirect("members:people", place.year.pk)
    return _shown(request, place, made)


@require_POST
@signed_in
def revoke(request: MemberRequest, year: int, invitation: int) -> HttpResponse:
    """Take an invitation back; renewing is the way to undo it."""
    place, found = _found(request, year, invitation)
    try:
        invitations.revoke(found)
    except RuleBroken as broken:
        messages.error(request, broken.message)
    else:
        messages.success(request, f"The invitation of {found.email} is taken back: its link lets nobody in.")
    return redirect("members:people", place.year.pk)


def link_maker(request: MemberRequest) -> invitations.AddressOf:
    """What makes the whole address of an invitation's page, as this request reached the installation."""
    return lambda token: request.build_absolute_uri(reverse("members:invitation", args=[token]))


def _invited(request: MemberRequest, place: PeoplePlace, form: InviteForm) -> Made:
    given = form.cleaned_data
    return invitations.invite(
        by=request.user,
        school=place.year.school,
        email=given["email"],
        name=given["name"],
        offer=form.offer,
        days=given["days"],
        address_of=link_maker(request),
    )


def _found(request: MemberRequest, year: int, pk: int) -> tuple[PeoplePlace, Invitation]:
    place = people_for(request.user, year)
    return place, invitation_for(request.user, pk, school=place.year.school)


def _shown(request: MemberRequest, place: PeoplePlace, made: Made) -> HttpResponse:
    # Only this answer holds the link: kept for a redirect, it would be kept in plain text.
    context = {**shown_once(made), "back": reverse("members:people", args=[place.year.pk]), "here": "people"}
    return year_page(request, place, "members/invitation_made.html", context)


def shown_once(made: Made) -> dict[str, object]:
    """What a page says of an invitation just made, with its link."""
    invitation = made.invitation
    ends = date_at(invitation.school, invitation.expires_at)
    return {"invitation": invitation, "link": made.link, "gives": given(invitation), "ends": ends}


def _asked(request: MemberRequest) -> dict[str, str]:
    """Where the way here names a team or an address, the form begins with it."""
    return {key: request.GET[key] for key in ("team", "email") if key in request.GET}
