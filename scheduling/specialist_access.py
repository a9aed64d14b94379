"""Specialists' posts and weeks as a member may reach them."""

from django.http import Http404

from scheduling.models import SpecialistPost
from scheduling.selectors.specialists import posts_in
from teamroom.dates.models import SchoolYear
from teamroom.members.access import YearPlace, require, year_for
from teamroom.members.models import Member
from teamroom.members.selectors.roles_held import roles_in_year


def post_for_change(member: Member, pk: int) -> tuple[YearPlace, SpecialistPost]:
    """A post, and its year, for somebody who may set the year up."""
    post = SpecialistPost.objects.select_related("member", "activity").filter(pk=pk).first()
    if post is None:
        raise Http404
    return year_for(member, post.year_id, "set up year"), post


def specialist_week_for(member: Member, year_pk: int, pk: int) -> tuple[YearPlace, list[SpecialistPost]]:
    """Somebody's posts of a year, for themselves and for who may read all such weeks.

    404 where they have none, and for who has no part in the year; 403 for others of it.
    """
    year = SchoolYear.objects.select_related("school").filter(pk=year_pk).first()
    if year is None:
        raise Http404
    roles = roles_in_year(member, year)
    posts = list(posts_in(year).filter(member=pk))
    require(roles | {"own post"} if posts and member.pk == pk else roles, "read specialist's week")
    if not posts:
        raise Http404
    return YearPlace(year, frozenset(roles)), posts
