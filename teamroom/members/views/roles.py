"""The page that explains roles."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from teamroom.members.role_words import REACH, ROLES, deed_lines
from teamroom.members.signed_in import MemberRequest, signed_in


@require_safe
@signed_in
def roles(request: MemberRequest) -> HttpResponse:
    """Who may do what, made from the very table that the checks ask."""
    told = [(words, REACH[role]) for role, words in ROLES.items()]
    return render(request, "members/roles.html", {"roles": told, "deeds": deed_lines()})
