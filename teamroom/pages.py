"""Pages made of more than one app: the home page, and the classrooms of one year."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from scheduling.selectors.home_page import home_groups, is_new_installation
from scheduling.selectors.questions import waiting_for
from scheduling.selectors.specialists import own_posts
from teamroom.dates.models import School
from teamroom.members.access import year_for, year_place
from teamroom.members.models import Member
from teamroom.members.roles import may
from teamroom.members.selectors import years_by_school
from teamroom.members.selectors.roles_held import roles_in_district
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page


@require_safe
@signed_in
def home(request: MemberRequest) -> HttpResponse:
    """A member's classrooms and how each stands with its rules, in the current year of each of their schools."""
    member = request.user
    places = years_by_school(member)
    groups = home_groups(member, [each.current for each in places])
    # Somebody of one school goes round its year from here; somebody of several chooses first.
    place = year_place(member, places[0].current) if len(places) == 1 else None
    district = place.of_district if place else may(roles_in_district(member), "found school")
    context = {
        "groups": groups,
        "is_new": not groups and is_new_installation(),
        "may_found": district,
        "district": district,
        "yearless": _without_a_year(member),
        "places": places,
        "posts": own_posts(member),
        "waiting": waiting_for(member),
        "here": "classrooms",
    }
    if place:
        context |= {"place": place, "year": place.year}
    return render(request, "home.html", context)


@require_safe
@signed_in
def year_classrooms(request: MemberRequest, year: int) -> HttpResponse:
    """The classrooms of one year, past ones too, that the member may read."""
    place = year_for(request.user, year)
    groups = home_groups(request.user, [place.year], whole=place.of_district)
    others = next(
        (each for each in years_by_school(request.user) if each.current.school_id == place.year.school_id), None
    )
    around = [each for each in [others.current, *others.others] if each != place.year] if others else []
    return year_page(request, place, "year.html", {"groups": groups, "around": around, "here": "classrooms"})


def _without_a_year(member: Member) -> list[School]:
    """Schools that the member looks after and that have no year yet."""
    return list(School.objects.filter(roles__member=member, roles__role="administrator", years=None).order_by("name"))
