"""Reads of people: who has a part in a school, what it is, and who is on the way in."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from typing import Any

from django.apps import apps
from django.db.models import Q, QuerySet

from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, ClassTeacher, Member, SchoolRole, Team, TeamRole
from teamroom.members.selectors.invitations import InvitationLine, invitation_lines

Keys = QuerySet[Any, Any]
NO_PART = "none"
"""The filter for those who have no part in this year, but had one once or have one in another."""


def ever_of_school(school: int) -> QuerySet[Member]:
    """Everybody with a part in a school, or who once had one, as the trail knows."""
    return _among(
        _members("SchoolRole", school=school),
        _members("SchoolRoleEvent", school=school),
        _members("TeamRole", team__year__school=school),
        _members("TeamRoleEvent", team__in=Team.objects.filter(year__school=school).values("pk")),
        _members("ClassTeacher", classroom__year__school=school),
        _members("ClassTeacherEvent", classroom__in=Classroom.objects.filter(year__school=school).values("pk")),
    )


def ever_of_teams(teams: Collection[int]) -> QuerySet[Member]:
    """Everybody with a part in one of these teams, or who once had one."""
    return _among(
        _members("TeamRole", team__in=teams),
        _members("TeamRoleEvent", team__in=teams),
        _members("ClassTeacher", classroom__team__in=teams),
    )


def _members(model: str, **which: Any) -> Keys:
    # By name, as the trail's tables are made by its library; their columns are those of the rows they record.
    rows: Keys = apps.get_model("members", model).objects.filter(**which).values("member_id")
    return rows


def _among(first: Keys, *others: Keys) -> QuerySet[Member]:
    return Member.objects.filter(pk__in=first.union(*others))


@dataclass
class Parts:
    """What somebody is to a school in one year."""

    school: list[str] = field(default_factory=list)
    teams: list[TeamRole] = field(default_factory=list)
    rooms: list[ClassTeacher] = field(default_factory=list)

    def __bool__(self) -> bool:
        return bool(self.school or self.teams or self.rooms)


@dataclass(frozen=True)
class PersonLine:
    person: Member
    parts: Parts


@dataclass(frozen=True)
class PeoplePage:
    lines: list[PersonLine]
    invitations: list[InvitationLine]
    teams: list[Team]


def parts_in(year: SchoolYear, people: Iterable[Member]) -> dict[int, Parts]:
    """By member what each is to a year and its school, in three queries."""
    members = [person.pk for person in people]
    parts: dict[int, Parts] = defaultdict(Parts)
    for role in SchoolRole.objects.filter(school=year.school_id, member__in=members).order_by("role"):
        parts[role.member_id].school.append(role.role)
    of_teams = TeamRole.objects.filter(team__year=year, member__in=members).select_related("team")
    for part in of_teams.order_by("team__name", "team"):
        parts[part.member_id].teams.append(part)
    of_rooms = ClassTeacher.objects.filter(classroom__year=year, member__in=members).select_related("classroom")
    for taught in of_rooms.order_by("classroom__name", "classroom__key", "first_day"):
        parts[taught.member_id].rooms.append(taught)
    return parts


def people_page(year: SchoolYear, *, led: Collection[int] | None = None, team: str = "", words: str = "") -> PeoplePage:
    """Everybody of the school in this year, in a fixed number of queries.

    `led` narrows it to the people of these teams (None: the whole school). `team` is a team's id,
    `NO_PART`, or anything else for everybody; `words` are looked for in names and addresses.
    """
    teams = list(Team.objects.filter(year=year, **({} if led is None else {"pk__in": led})).order_by("name", "pk"))
    everybody = ever_of_school(year.school_id) if led is None else ever_of_teams(led)
    for word in words.split():
        everybody = everybody.filter(Q(name__icontains=word) | Q(email__icontains=word))
    people = list(everybody.order_by("name", "pk"))
    parts = parts_in(year, people)
    lines = [PersonLine(person, parts[person.pk]) for person in people]
    return PeoplePage(
        lines=[line for line in lines if _wanted(line, team, [each.pk for each in teams], led)],
        invitations=invitation_lines(year.school, teams=led, words=words),
        teams=teams,
    )


def _wanted(line: PersonLine, team: str, teams: list[int], led: Collection[int] | None) -> bool:
    of_led = led is None or any(part.team_id in led for part in line.parts.teams)
    of_led = of_led or any(taught.classroom.team_id in (led or ()) for taught in line.parts.rooms)
    has_part = bool(line.parts) and of_led
    if team == NO_PART:
        return not has_part
    if team in map(str, teams):
        in_team = any(str(part.team_id) == team for part in line.parts.teams)
        return in_team or any(str(taught.classroom.team_id) == team for taught in line.parts.rooms)
    return has_part


def other_parts(year: SchoolYear, person: Member) -> list[TeamRole]:
    """What somebody is, or was, to teams of the school's other years, the latest year first."""
    parts = TeamRole.objects.filter(member=person, team__year__school=year.school_id).exclude(team__year=year)
    return list(parts.select_related("team__year").order_by("-team__year__first_day", "team__name"))
