"""The page that an invitation's link opens: for somebody new, for a member, and for the wrong one."""

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils.cache import add_never_cache_headers
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods

from teamroom.common.forms import attempt
from teamroom.common.http import UNPROCESSABLE
from teamroom.members.forms.people import ComeInForm
from teamroom.members.models import Invitation, Member
from teamroom.members.selectors.invitations import given, member_of, same_address
from teamroom.members.services.invitations import Worthless, accept, come_in, invitation_of

GONE, FORBIDDEN = 410, 403


@require_http_methods(["GET", "HEAD", "POST"])
def invitation(request: HttpRequest, token: str) -> HttpResponse:
    """What is shown depends on who comes; one page for every link that opens nothing."""
    try:
        response = _for_whom(request, token, invitation_of(token))
    except Worthless:
        response = render(request, "members/invitation_gone.html", status=GONE)
    add_never_cache_headers(response)
    return response


def _for_whom(request: HttpRequest, token: str, found: Invitation) -> HttpResponse:
    if isinstance(request.user, Member):
        if not same_address(request.user.email, found.email):
            return render(request, "members/invitation_other.html", {"token": token}, status=FORBIDDEN)
        return _accepted(request, token, found, request.user)
    if member_of(found.email) is not None:
        sign_in = f"{resolve_url(settings.LOGIN_URL)}?{urlencode({'next': request.path})}"
        return render(request, "members/invitation_sign_in.html", _told(found) | {"sign_in": sign_in})
    return _come_in(request, token, found)


def _accepted(request: HttpRequest, token: str, found: Invitation, member: Member) -> HttpResponse:
    if request.method != "POST":
        return render(request, "members/invitation_accept.html", _told(found))
    accept(token, member=member)
    return _in(request, found)


def _come_in(request: HttpRequest, token: str, found: Invitation) -> HttpResponse:
    form = ComeInForm(request.POST) if request.method == "POST" else ComeInForm(initial={"name": found.name})
    if request.method == "POST":
        member = attempt(form, lambda: come_in(token, **form.cleaned_data))
        if member is not None:
            login(request, member)
            return _in(request, found)
    status = UNPROCESSABLE if form.errors else 200
    return render(request, "members/invitation_come_in.html", _told(found) | {"form": form}, status=status)


def _told(found: Invitation) -> dict[str, object]:
    return {"invitation": found, "gives": given(found)}


def _in(request: HttpRequest, found: Invitation) -> HttpResponse:
    messages.success(request, f"You are in, as {' and '.join(given(found))}.")
    return redirect("home")
