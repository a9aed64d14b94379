"""Pages made of more than one app: the home page."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from scheduling.selectors.home_page import home_groups, is_new_installation
from teamroom.members.access import roles_in_district, year_place
from teamroom.members.roles import may
from teamroom.members.selectors import years_of
from teamroom.members.signed_in import MemberRequest, signed_in


@require_safe
@signed_in
def home(request: MemberRequest) -> HttpResponse:
    """A member's classrooms and how each stands with its rules."""
    groups = home_groups(request.user)
    is_new = not groups and is_new_installation()
    context = {"groups": groups, "is_new": is_new, "here": "classrooms"}
    if is_new:
        context["may_found"] = may(roles_in_district(request.user), "found school")
    # Somebody of one school goes round its year from here; somebody of several chooses first.
    years = years_of(request.user)
    places = [year_place(request.user, year) for year in years]
    if len(places) == 1:
        context |= {"place": places[0], "year": places[0].year}
    return render(request, "home.html", {**context, "places": places if len(places) > 1 else []})
