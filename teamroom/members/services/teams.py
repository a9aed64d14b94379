"""Teams of a year: made, changed, retired and brought back."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from django.db import transaction

from teamroom.common.errors import RuleBroken
from teamroom.common.keys import free_key
from teamroom.dates.models import SchoolYear
from teamroom.dates.services import year_alone
from teamroom.members.models import Classroom, Team


@dataclass(frozen=True)
class TeamToBe:
    """What a team is to be. Where it edits together, its teachers change each other's weeks."""

    name: str
    grades: Sequence[str]
    edits_together: bool = False


@transaction.atomic
def make_team(year: SchoolYear, to_be: TeamToBe) -> Team:
    """A new team with a key from its name; RuleBroken if the year has a team of that name."""
    year = year_alone(year.pk)
    _check_name(year, to_be.name)
    key = free_key(to_be.name, year.teams.values_list("key", flat=True), otherwise="team")
    return Team.objects.create(
        year=year, key=key, name=to_be.name, grades=list(to_be.grades), edits_together=to_be.edits_together
    )


@transaction.atomic
def change_team(team: Team, to_be: TeamToBe) -> Team:
    """Give a team another name, other grades or another way of editing. Its key stays, and no
    reading changes: a class answers for its own grades, whatever its team's are."""
    year = year_alone(team.year_id)
    _check_name(year, to_be.name, but=team)
    team.name, team.grades, team.edits_together = to_be.name, list(to_be.grades), to_be.edits_together
    team.save(update_fields=["name", "grades", "edits_together"])
    return team


@transaction.atomic
def retire_team(team: Team) -> list[Classroom]:
    """Take a team and its classrooms out of the year's lists; the classrooms that went with it.

    Nothing of them is lost: their weeks stay readable by their addresses.
    """
    year_alone(team.year_id)
    rooms = list(team.classrooms.filter(retired=False).order_by("name", "key"))
    team.classrooms.filter(retired=False).update(retired=True)
    team.retired = True
    team.save(update_fields=["retired"])
    return rooms


@transaction.atomic
def bring_team_back(team: Team, classrooms: Collection[int]) -> list[Classroom]:
    """Put a retired team back into the lists, with those of its retired classrooms that are named by id."""
    year_alone(team.year_id)
    rooms = list(team.classrooms.filter(retired=True, pk__in=classrooms).order_by("name", "key"))
    team.classrooms.filter(pk__in=[room.pk for room in rooms]).update(retired=False)
    team.retired = False
    team.save(update_fields=["retired"])
    return rooms


def _check_name(year: SchoolYear, name: str, but: Team | None = None) -> None:
    named = year.teams.filter(name__iexact=name)
    same = (named.exclude(pk=but.pk) if but else named).first()
    if same is None:
        return
    if same.retired:
        raise RuleBroken(f"{same} is retired: bring it back, or choose another name.", field="name")
    raise RuleBroken(f"There is a team {same} already: choose another name.", field="name")
