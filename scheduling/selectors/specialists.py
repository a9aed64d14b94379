"""The specialists of a year and their posts, and which classrooms a post reaches."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from django.db.models import QuerySet
from django.utils.text import get_text_list

from scheduling.models import SpecialistPost
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, Member
from teamroom.members.selectors import current_years


@dataclass(frozen=True, slots=True)
class PostLine:
    """A post in words."""

    pk: int
    activity: str
    reach: str


@dataclass(frozen=True, slots=True)
class SpecialistLine:
    """A specialist with their posts."""

    pk: int
    name: str
    is_active: bool
    posts: tuple[PostLine, ...]


def posts_in(year: SchoolYear, member: Member | None = None) -> QuerySet[SpecialistPost]:
    """A year's posts, or a member's, with what they reach; four queries in all."""
    posts = SpecialistPost.objects.filter(year=year)
    if member is not None:
        posts = posts.filter(member=member)
    return (
        posts.select_related("member", "activity")
        .prefetch_related("teams", "classrooms")
        .order_by("member__name", "member", "activity__name")
    )


@dataclass(frozen=True, slots=True)
class OwnPosts:
    """What a member teaches across classrooms in one year."""

    year: SchoolYear
    teaches: str


def own_posts(member: Member) -> list[OwnPosts]:
    """A member's posts in the current year of each school; one query for who has none."""
    posts = SpecialistPost.objects.filter(member=member).select_related("year__school", "activity")
    by_year: dict[SchoolYear, list[SpecialistPost]] = defaultdict(list)
    for post in posts.prefetch_related("teams", "classrooms").order_by("activity__name"):
        by_year[post.year].append(post)
    return [OwnPosts(year, teaches_said(by_year[year])) for year in current_years(by_year)]


def specialist_lines(year: SchoolYear) -> list[SpecialistLine]:
    """Everybody with a post, by name."""
    posts: dict[Member, list[PostLine]] = defaultdict(list)
    for post in posts_in(year):
        posts[post.member].append(PostLine(post.pk, post.activity.name, reach_said(post)))
    return [SpecialistLine(member.pk, member.name, member.is_active, tuple(lines)) for member, lines in posts.items()]


def reach_said(post: SpecialistPost) -> str:
    """Which classes a post reaches, in words."""
    named = [str(team) for team in post.teams.all()] + [str(room) for room in post.classrooms.all()]
    return get_text_list(named, "and") if named else "all the school"


def reached(posts: Iterable[SpecialistPost], rooms: Collection[Classroom]) -> dict[Classroom, set[int]]:
    """Of these classrooms those that the posts reach, each with the activities taught there, by id."""
    found: dict[Classroom, set[int]] = defaultdict(set)
    for post in posts:
        teams, named = {team.pk for team in post.teams.all()}, {room.pk for room in post.classrooms.all()}
        for room in rooms:
            if room.team_id in teams or room.pk in named or not (teams or named):
                found[room].add(post.activity_id)
    return found


def teaches_said(posts: Iterable[SpecialistPost]) -> str:
    """What the posts of one member come to: `Art and Music to all the school, PE to Grade 4`."""
    activities: dict[str, list[str]] = defaultdict(list)
    for post in posts:
        activities[reach_said(post)].append(post.activity.name)
    return ", ".join(f"{get_text_list(names, 'and')} to {reach}" for reach, names in activities.items())
