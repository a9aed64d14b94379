"""Pages made of more than one app: the home page."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from scheduling.selectors.home_page import home_groups, is_new_installation
from teamroom.members.signed_in import MemberRequest, signed_in


@require_safe
@signed_in
def home(request: MemberRequest) -> HttpResponse:
    """A member's classrooms and how each stands with its rules."""
    groups = home_groups(request.user)
    return render(request, "home.html", {"groups": groups, "is_new": not groups and is_new_installation()})
