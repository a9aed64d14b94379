"""The teams of a year on one sheet: their people, and their classrooms with teachers, room and head count."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import QuerySet

from teamroom.common.clock import said_date
from teamroom.dates.grades import said_grades
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, ClassTeacher, Member, Team, TeamRole
from teamroom.members.roles import Role, may
from teamroom.members.selectors.readable import readable_in


@dataclass(frozen=True, slots=True)
class ClassLine:
    """A classroom as the sheet shows it. `over` is by how many its enrolment is above its cap."""

    pk: int
    name: str
    about: str
    teachers: str
    room: str
    enrolment: int | None
    cap: int | None
    may_read: bool

    @property
    def over(self) -> int:
        if self.enrolment is None or self.cap is None:
            return 0
        return max(0, self.enrolment - self.cap)


@dataclass(frozen=True, slots=True)
class TeamLines:
    """A team as the sheet shows it, its people by what they are to it. Who `may_read` it may read all its weeks."""

    pk: int
    name: str
    grades: str
    edits_together: bool
    people: tuple[tuple[str, str], ...]
    classrooms: tuple[ClassLine, ...]
    retired_classrooms: tuple[ClassLine, ...]
    may_manage: bool
    may_read: bool

    @property
    def pupils(self) -> int | None:
        """All its pupils, where each of its classes says how many it has."""
        counts = [room.enrolment for room in self.classrooms]
        return sum(filter(None, counts)) if counts and None not in counts else None


@dataclass(frozen=True, slots=True)
class TeamSheet:
    """The teams in use, and those retired."""

    teams: tuple[TeamLines, ...]
    retired: tuple[TeamLines, ...]


KINDS = (("lead", "Leads"), ("teacher", "Teaches"), ("guest", "Reads as a guest"))


def team_sheet(year: SchoolYear, member: Member, roles: frozenset[Role]) -> TeamSheet:
    """All teams of a year, in a fixed number of queries; `roles` are the reader's in the year."""
    rooms: dict[int, list[tuple[Classroom, ClassLine]]] = defaultdict(list)
    taught, readable = teachers_said(year), readable_in(year, member, roles)
    for room in year.classrooms.order_by("name", "key"):
        line = _line(room, taught.get(room.pk, ""), may_read=room in readable)
        rooms[room.team_id].append((room, line))
    people: dict[int, list[TeamRole]] = defaultdict(list)
    for role in TeamRole.objects.filter(team__year=year, member__is_active=True).select_related("member"):
        people[role.team_id].append(role)
    managed = set(managed_teams(year, member, roles).values_list("pk", flat=True))
    lines = [
        (team.retired, _team(team, people[team.pk], rooms[team.pk], (team.pk in managed, readable.has_team(team.pk))))
        for team in year.teams.order_by("pk")
    ]
    return TeamSheet(
        tuple(line for retired, line in lines if not retired), tuple(line for retired, line in lines if retired)
    )


def _team(
    team: Team, people: list[TeamRole], rooms: list[tuple[Classroom, ClassLine]], may: tuple[bool, bool]
) -> TeamLines:
    """`may` says whether the reader may manage it, and read it."""
    by_kind = [(said, sorted(role.member.name for role in people if role.role == kind)) for kind, said in KINDS]
    return TeamLines(
        pk=team.pk,
        name=team.name,
        grades=said_grades(team.grades),
        edits_together=team.edits_together,
        people=tuple((said, ", ".join(names)) for said, names in by_kind if names),
        classrooms=tuple(line for room, line in rooms if not room.retired),
        retired_classrooms=tuple(line for room, line in rooms if room.retired),
        may_manage=may[0],
        may_read=may[1],
    )


def _line(room: Classroom, teachers: str, *, may_read: bool) -> ClassLine:
    told = [said_grades(room.grades)] if said_grades(room.grades) not in str(room).lower() else []
    if len(room.grades) > 1:
        told.append(f"follows grade {room.grades[0]}\N{RIGHT SINGLE QUOTATION MARK}s bell")
    return ClassLine(
        pk=room.pk,
        name=str(room),
        about=", ".join(told),
        teachers=teachers,
        room=room.room,
        enrolment=room.enrolment,
        cap=room.cap,
        may_read=may_read,
    )


def teachers_said(year: SchoolYear, on: dt.date | None = None) -> dict[int, str]:
    """Who teaches each classroom of a year on a date (today, unless given) and after it, with the
    dates where it is not all year: `Olive until Fri 2 Oct, Tamsin from Sat 3 Oct`."""
    day = on or year.school.today()
    said: dict[int, list[str]] = defaultdict(list)
    rows = ClassTeacher.objects.filter(classroom__year=year).select_related("member")
    for row in sorted(rows, key=lambda row: (row.first_day or dt.date.min, row.member.name)):
        if row.last_day is None or row.last_day >= day:
            said[row.classroom_id].append(" ".join([row.member.name, *_dates(row, day)]))
    return {pk: ", ".join(names) for pk, names in said.items()}


def _dates(row: ClassTeacher, today: dt.date) -> Iterable[str]:
    if row.first_day is not None and row.first_day > today:
        yield f"from {said_date(row.first_day)}"
    if row.last_day is not None:
        yield f"until {said_date(row.last_day)}"


def managed_teams(year: SchoolYear, member: Member, roles: frozenset[Role]) -> QuerySet[Team]:
    """The teams that somebody with these roles in the year may manage, retired ones among them."""
    teams = year.teams.order_by("pk")
    if may(roles - {"lead"}, "manage team"):
        return teams
    return teams.filter(roles__member=member, roles__role="lead")


def grade_names(year: SchoolYear) -> set[str]:
    """Every grade that a team or classroom of the year has, as the school writes it."""
    lists = year.teams.values_list("grades").union(year.classrooms.values_list("grades"))
    return {grade for (grades,) in lists for grade in grades}
