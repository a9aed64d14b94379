"""Specialists' posts: who teaches an activity to which classes."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from django.db import transaction

from scheduling.models import Activity, SpecialistPost
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import SchoolYear
from teamroom.dates.services import year_alone
from teamroom.members.models import Classroom, Member, Team, TeamRole


@dataclass(frozen=True)
class PostToBe:
    """What a post is to be. Without teams and classrooms it reaches all the school."""

    activity: Activity
    teams: Collection[Team] = ()
    classrooms: Collection[Classroom] = ()


@transaction.atomic
def give_post(year: SchoolYear, member: Member, to_be: PostToBe) -> tuple[SpecialistPost, list[Team]]:
    """Give somebody a post; with it the teams they are now guests of, so that they may read their weeks."""
    year_alone(year.pk)
    _check_only(member, to_be.activity)
    post = SpecialistPost.objects.create(year=year, member=member, activity=to_be.activity)
    return post, _written(post, to_be)


@transaction.atomic
def change_post(post: SpecialistPost, to_be: PostToBe) -> list[Team]:
    """Give a post another activity or other classes; the teams its member is now a guest of."""
    year_alone(post.year_id)
    _check_only(post.member, to_be.activity, but=post)
    post.activity = to_be.activity
    post.save(update_fields=["activity"])
    return _written(post, to_be)


@transaction.atomic
def end_post(post: SpecialistPost) -> None:
    """End a post. What its member is to teams stays as it is."""
    year_alone(post.year_id)
    post.delete()


def _check_only(member: Member, activity: Activity, but: SpecialistPost | None = None) -> None:
    posts = SpecialistPost.objects.filter(member=member, activity=activity)
    if (posts.exclude(pk=but.pk) if but else posts).exists():
        raise RuleBroken(f"{member} teaches {activity} already: change that post instead.", field="activity")


def _written(post: SpecialistPost, to_be: PostToBe) -> list[Team]:
    post.teams.set(to_be.teams)
    post.classrooms.set(to_be.classrooms)
    return _made_guest(post.member, _reached(post, to_be))


def _reached(post: SpecialistPost, to_be: PostToBe) -> Iterable[Team]:
    in_use = Team.objects.filter(year=post.year_id, retired=False).order_by("pk")
    if not to_be.teams and not to_be.classrooms:
        return in_use
    named = {team.pk for team in to_be.teams} | {room.team_id for room in to_be.classrooms}
    return in_use.filter(pk__in=named)


def _made_guest(member: Member, teams: Iterable[Team]) -> list[Team]:
    """Make a member a guest of those teams to which they are nothing yet."""
    held = set(member.team_roles.values_list("team", flat=True))
    fresh = [team for team in teams if team.pk not in held]
    TeamRole.objects.bulk_create(
        (TeamRole(team=team, member=member, role="guest") for team in fresh), ignore_conflicts=True
    )
    return fresh
