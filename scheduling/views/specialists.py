"""Specialists: their posts, and the week each has across classrooms."""

from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.text import get_text_list
from django.views.decorators.http import require_http_methods, require_safe

from scheduling.forms.specialists import SCHOOL, SOME, PostChoices, PostForm
from scheduling.models import Activity, SpecialistPost
from scheduling.selectors.specialist_week import own_week
from scheduling.selectors.specialists import reach_said, specialist_lines, teaches_said
from scheduling.services import specialists
from scheduling.specialist_access import post_for_change, specialist_week_for
from scheduling.views.as_of import as_of
from teamroom.common.forms import attempt
from teamroom.common.http import UNPROCESSABLE
from teamroom.dates.models import SchoolYear
from teamroom.members.access import YearPlace, year_for
from teamroom.members.models import Member, Team
from teamroom.members.selectors.people import ever_of_school
from teamroom.members.selectors.readable import readable_in
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@signed_in
def sheet(request: MemberRequest, year: int) -> HttpResponse:
    """Who teaches an activity across classrooms; whoever has a part in the year reads it."""
    place = year_for(request.user, year)
    context = {
        "lines": specialist_lines(place.year),
        "reads_all": place.may("read specialist's week"),
        "here": "specialists",
    }
    return year_page(request, place, "scheduling/specialists.html", context)


@form_methods
@signed_in
def give(request: MemberRequest, year: int) -> HttpResponse:
    """A new post."""
    place = year_for(request.user, year, "set up year")
    choices = _choices(place.year)
    form = PostForm(request.POST if request.method == "POST" else None, choices=choices)
    if form.is_bound:
        given = attempt(form, lambda: specialists.give_post(place.year, form.chosen, form.to_be))
        if given is not None:
            post, fresh = given
            messages.success(request, _said(post, fresh))
            return redirect("scheduling:specialists", place.year.pk)
    return _form_page(request, place, form, {"heading": "Give a post", "send": "Give the post"})


@form_methods
@signed_in
def change(request: MemberRequest, post: int) -> HttpResponse:
    """Another activity, or other classes."""
    place, found = post_for_change(request.user, post)
    form = PostForm(
        request.POST if request.method == "POST" else None,
        choices=_choices(place.year, found),
        initial=_as_it_is(found),
        keeps_member=True,
    )
    if form.is_bound:
        fresh = attempt(form, lambda: specialists.change_post(found, form.to_be))
        if fresh is not None:
            messages.success(request, _said(SpecialistPost.objects.get(pk=found.pk), fresh))
            return redirect("scheduling:specialists", place.year.pk)
    return _form_page(request, place, form, {"heading": f"{found.member}, {found.activity}", "send": "Save"})


@form_methods
@signed_in
def end(request: MemberRequest, post: int) -> HttpResponse:
    """End a post, after saying what that does and what it does not."""
    place, found = post_for_change(request.user, post)
    if request.method == "POST":
        specialists.end_post(found)
        messages.success(request, f"{found.member} no longer teaches {found.activity} across classrooms.")
        return redirect("scheduling:specialists", place.year.pk)
    context = {"post": found, "reach": reach_said(found), "here": "specialists"}
    return year_page(request, place, "scheduling/specialist_end.html", context)


@require_safe
@signed_in
def week(request: MemberRequest, year: int, member: int) -> HttpResponse:
    """A specialist's own week, as of today or of `?on=`."""
    place, posts = specialist_week_for(request.user, year, member)
    on, outside = as_of(place.year, request.GET.get("on", ""))
    readable = readable_in(place.year, request.user, place.roles)
    context = {
        "specialist": posts[0].member,
        "own": posts[0].member_id == request.user.pk,
        "teaches": teaches_said(posts),
        "week": own_week(place.year, posts, on),
        "linked": {room.pk for room in place.year.classrooms.all() if room in readable},
        "on": on,
        "outside": outside,
        "here": "specialists",
    }
    return year_page(request, place, "scheduling/specialist_week.html", context)


def _choices(year: SchoolYear, post: SpecialistPost | None = None) -> PostChoices:
    """What there is to choose from; what a post names already stays, though it be retired."""
    teams, rooms = year.teams.filter(retired=False), year.classrooms.filter(retired=False)
    if post is not None:
        teams = teams | year.teams.filter(pk__in=post.teams.all())
        rooms = rooms | year.classrooms.filter(pk__in=post.classrooms.all())
    people: list[Member] = []
    if post is None:
        people = list(ever_of_school(year.school_id).filter(is_active=True).order_by("name", "pk"))
    return PostChoices(
        people=people,
        activities=Activity.objects.filter(year=year).order_by("pk"),
        teams=teams.order_by("pk"),
        classrooms=rooms.order_by("name", "key"),
    )


def _as_it_is(post: SpecialistPost) -> dict[str, Any]:
    teams, rooms = [team.pk for team in post.teams.all()], [room.pk for room in post.classrooms.all()]
    reach = SOME if teams or rooms else SCHOOL
    return {"activity": post.activity_id, "reach": reach, "teams": teams, "classrooms": rooms}


def _said(post: SpecialistPost, fresh: list[Team]) -> str:
    guest = ""
    if fresh:
        teams = get_text_list([str(team) for team in fresh], "and")
        guest = f" {post.member} is now a guest of {teams}, and may read the weeks there."
    return f"{post.member} teaches {post.activity} to {reach_said(post)}.{guest}"


def _form_page(request: MemberRequest, place: YearPlace, form: PostForm, context: Mapping[str, Any]) -> HttpResponse:
    back = reverse("scheduling:specialists", args=[place.year.pk])
    told = {"form": form, "back": back, "here": "specialists", **context}
    status = UNPROCESSABLE if form.is_bound and form.errors else 200
    return year_page(request, place, "scheduling/specialist_form.html", told, status=status)
