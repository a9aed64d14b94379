"""Which day changes a classroom is reached by, when the classroom itself is what changes."""

from itertools import pairwise

from django.db.models import Exists, OuterRef, Q

from scheduling.models import DayChange, DayChangeReach
from scheduling.services.day_changes import write_reach
from teamroom.common.clock import said_date
from teamroom.common.errors import RuleBroken
from teamroom.members.models import Classroom


def reach_anew(classroom: Classroom) -> None:
    """Let exactly those day changes reach a classroom that are for it, for its team, or for the school.

    Raises RuleBroken where two of them would take the same time.
    """
    wanted = {change.pk: change for change in _meant_for(classroom)}
    _check_apart(classroom, list(wanted.values()))
    DayChangeReach.objects.filter(classroom=classroom).exclude(day_change__in=wanted).delete()
    held = set(DayChangeReach.objects.filter(classroom=classroom).values_list("day_change", flat=True))
    write_reach([(change, [classroom]) for pk, change in wanted.items() if pk not in held])


def _meant_for(classroom: Classroom) -> list[DayChange]:
    rooms = DayChange.classrooms.through.objects.filter(daychange=OuterRef("pk"))
    teams = DayChange.teams.through.objects.filter(daychange=OuterRef("pk"))
    meant = (
        Exists(rooms.filter(classroom=classroom.pk))
        | Exists(teams.filter(team=classroom.team_id))
        | (~Exists(rooms) & ~Exists(teams))
    )
    return list(DayChange.objects.filter(Q(meant), year=classroom.year_id).order_by("date", "start", "pk"))


def _check_apart(classroom: Classroom, changes: list[DayChange]) -> None:
    for one, other in pairwise(changes):
        if one.date == other.date and other.start < one.end:
            raise RuleBroken(
                f"{one.name} and {other.name} take the same time on {said_date(one.date)}, "
                f"and both would be for {classroom}: move or lift one of them first.",
                field="team",
            )
