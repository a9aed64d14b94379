"""Which of a year's classrooms a member may read, for the lists that name them all."""

from dataclasses import dataclass

from django.db.models import Q, QuerySet

from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, Member, TeamRole
from teamroom.members.roles import Role, may
from teamroom.members.selectors.years import taught_today

OF_SCHOOL: frozenset[Role] = frozenset({"district administrator", "administrator", "coordinator"})


@dataclass(frozen=True, slots=True)
class Readable:
    """The answer for any classroom of the year, without another query."""

    all_of_year: bool
    teams: frozenset[int]
    own: frozenset[int]

    def __contains__(self, room: Classroom) -> bool:
        return self.all_of_year or room.team_id in self.teams or room.pk in self.own

    def has_team(self, team: int) -> bool:
        """Whether that is all classrooms of a team, by its id."""
        return self.all_of_year or team in self.teams


def readable_in(year: SchoolYear, member: Member, roles: frozenset[Role]) -> Readable:
    """What a member with these roles in the year may read of it: the same as access asks room by room."""
    if may(roles & OF_SCHOOL, "read week"):
        return Readable(True, frozenset(), frozenset())
    teams = TeamRole.objects.filter(team__year=year, member=member).values_list("team", flat=True)
    own = taught_today(member).filter(classroom__year=year).values_list("classroom", flat=True)
    return Readable(False, frozenset(teams), frozenset(own))


def readable_of_school(year: SchoolYear, member: Member, roles: frozenset[Role]) -> QuerySet[Classroom]:
    """The classrooms of all years of a year's school that a member with these roles in that year may read: the same
    as access asks room by room."""
    rooms = Classroom.objects.filter(year__school=year.school_id)
    if may(roles & OF_SCHOOL, "read week"):
        return rooms
    teams = TeamRole.objects.filter(team__year__school=year.school_id, member=member).values("team")
    own = taught_today(member).filter(classroom__year__school=year.school_id).values("classroom")
    return rooms.filter(Q(team__in=teams) | Q(pk__in=own))
