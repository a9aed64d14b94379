"""Specialists' posts across a loading: they are people's, so no file holds them, and they stay like
other roles, found again by the keys of what they name."""

from collections.abc import Iterable
from dataclasses import dataclass

from scheduling.models import SpecialistPost
from teamroom.dates.models import SchoolYear
from teamroom.school_file.rows import Rows


@dataclass(frozen=True)
class KeptPost:
    """A post by the keys of its activity and of the teams and classrooms it reaches."""

    member: int
    activity: str
    teams: frozenset[str]
    classrooms: frozenset[str]


def take_posts(year: SchoolYear) -> list[KeptPost]:
    """Take a year's posts away, to be put back once its new activities are there."""
    posts = SpecialistPost.objects.filter(year=year)
    kept = [
        KeptPost(
            post.member_id,
            post.activity.key,
            frozenset(team.key for team in post.teams.all()),
            frozenset(room.key for room in post.classrooms.all()),
        )
        for post in posts.select_related("activity").prefetch_related("teams", "classrooms").order_by("pk")
    ]
    posts.delete()
    return kept


def put_posts_back(rows: Rows, kept: Iterable[KeptPost]) -> None:
    """Put back the posts whose activity is still there. One that named teams or classrooms needs one
    of them to be left: without any it would reach all the school, which nobody said."""
    for post in kept:
        activity = rows.activities.get(post.activity)
        teams = [team for key, team in rows.teams.items() if key in post.teams]
        rooms = [room for key, room in rows.classrooms.items() if key in post.classrooms]
        reaches_some = bool(post.teams or post.classrooms)
        if activity is None or (reaches_some and not teams and not rooms):
            continue
        made = SpecialistPost.objects.create(year=rows.year, member_id=post.member, activity=activity)
        made.teams.set(teams)
        made.classrooms.set(rooms)
