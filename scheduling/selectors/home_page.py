"""What a member sees first: the classrooms they have a part in, and how each stands with its rules."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import groupby

from django.db.models import Exists, OuterRef, Q, QuerySet

from scheduling.minutes.figures import listed
from scheduling.models import Reading, Week
from scheduling.selectors.ledger import VERDICT_LOOKS, summary_said
from teamroom.dates.models import School, SchoolYear
from teamroom.members.models import Classroom, Member
from teamroom.members.selectors import taught_today

MOST_NAMED = 2


@dataclass(frozen=True, slots=True)
class ClassroomLine:
    """A classroom with its verdicts. `failing` names the first rules it does not meet."""

    pk: int
    name: str
    about: str
    has_week: bool
    summary: str
    look: str
    failing: str


@dataclass(frozen=True, slots=True)
class HomeGroup:
    """Classrooms under one heading: the member's own, or a team's, with its id. `to` is their year's id."""

    title: str
    year: str
    to: int
    lines: tuple[ClassroomLine, ...]
    team: int = 0


@dataclass
class Standing:
    """A classroom's rules by verdict; a rule of both grades of a combination class counts once."""

    met: set[int] = field(default_factory=set)
    failing: dict[int, tuple[str, str]] = field(default_factory=dict)

    @property
    def checked(self) -> int:
        return len(self.met | self.failing.keys())

    @property
    def summary(self) -> str:
        """`meets 11 of 12 rules`."""
        return summary_said(len(self.met - self.failing.keys()), self.checked)

    @property
    def look(self) -> str:
        looks = [VERDICT_LOOKS[status] for _, status in self.failing.values()]
        if not looks:
            return "met" if self.checked else "unchecked"
        return next((look for look in looks if look != "advice"), "advice")

    @property
    def named(self) -> str:
        told = [f"{name} ({status})" for name, status in self.failing.values()]
        more = len(told) - MOST_NAMED
        return listed([*told[:MOST_NAMED], f"{more} more"] if more > 0 else told)


def home_groups(member: Member, years: Collection[SchoolYear], *, whole: bool = False) -> list[HomeGroup]:
    """In each year the member's own classrooms, then the others of each team, in a fixed number of queries.

    `whole` is for who may read every classroom of these years, though not by a role in the school.
    """
    classrooms = list(_readable(member, years, whole=whole))
    own = set(taught_today(member).filter(classroom__in=classrooms).values_list("classroom", flat=True))
    standings = rule_standings(classrooms)
    lines = {room.pk: _line(room, standings[room.pk]) for room in classrooms}
    return list(_groups(classrooms, own, lines))


def _readable(member: Member, years: Collection[SchoolYear], *, whole: bool) -> QuerySet[Classroom]:
    """Classrooms of these years that the member may read, but for retired ones."""
    schools = set(member.school_roles.values_list("school", flat=True))
    all_of = Q(year__in=[year for year in years if whole or year.school_id in schools])
    teams = set(member.team_roles.values_list("team", flat=True))
    own = taught_today(member).values("classroom")
    return (
        Classroom.objects.filter(all_of | Q(team__in=teams) | Q(pk__in=own), year__in=years, retired=False)
        .annotate(has_week=Exists(Week.objects.filter(classroom=OuterRef("pk"), draft=False)))
        .select_related("team", "year__school")
        .order_by("year__school__name", "year", "team__name", "team", "name", "key")
    )


def rule_standings(classrooms: Iterable[Classroom]) -> dict[int, Standing]:
    """How classrooms stand with their rules by the stored readings, in one query."""
    standings: dict[int, Standing] = defaultdict(Standing)
    rows = Reading.objects.filter(classroom__in=classrooms, part=None).exclude(status="not checkable")
    for classroom, rule, name, status in rows.order_by("rule").values_list(
        "classroom_id", "rule_id", "rule__name", "status"
    ):
        if status == "met":
            standings[classroom].met.add(rule)
        else:
            standings[classroom].failing[rule] = (name, status)
    return standings


def _line(room: Classroom, standing: Standing) -> ClassroomLine:
    name = str(room)
    about = [f"grade{'s' if len(room.grades) > 1 else ''} {listed(room.grades)}"]
    about += [f"room {room.room}"] if room.room else []
    about = [word for word in about if word not in name.lower()]
    about += [f"{room.enrolment} pupils"] if room.enrolment is not None else []
    has_week: bool = room.has_week  # type: ignore[attr-defined]  # annotated by _readable
    return ClassroomLine(
        pk=room.pk,
        name=name,
        about=", ".join(about),
        has_week=has_week,
        summary=standing.summary,
        look=standing.look,
        failing=standing.named,
    )


def _groups(classrooms: list[Classroom], own: set[int], lines: dict[int, ClassroomLine]) -> Iterator[HomeGroup]:
    for year, of_year in groupby(classrooms, key=lambda room: room.year):
        rooms = list(of_year)
        mine = [room for room in rooms if room.pk in own]
        if mine:
            title = "Your classroom" if len(mine) == 1 else "Your classrooms"
            yield HomeGroup(title, str(year), year.pk, tuple(lines[room.pk] for room in mine))
        others = (room for room in rooms if room.pk not in own)
        for team, of_team in groupby(others, key=lambda room: room.team):
            yield HomeGroup(team.name, str(year), year.pk, tuple(lines[room.pk] for room in of_team), team.pk)


def is_new_installation() -> bool:
    """Whether there is no school at all, so that the page can say how to load one."""
    return not School.objects.exists()
