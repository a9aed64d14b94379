"""Whom to talk to about a class: who teaches it on a date, else who leads its team."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

from django.db.models import Q

from teamroom.members.models import Classroom, ClassTeacher, TeamRole


@dataclass(frozen=True, slots=True)
class Asked:
    """Somebody to ask about a class: one of its teachers, or the lead of its team."""

    name: str
    leads: bool


def whom_to_ask(rooms: Collection[Classroom], on: dt.date) -> dict[int, list[Asked]]:
    """By classroom its teachers on a date; for a class without one, who leads its team, if anybody."""
    begun = Q(first_day=None) | Q(first_day__lte=on)
    goes_on = Q(last_day=None) | Q(last_day__gte=on)
    teachers: dict[int, list[Asked]] = defaultdict(list)
    taught = ClassTeacher.objects.filter(begun & goes_on, classroom__in=rooms, member__is_active=True)
    for room, name in taught.order_by("member__name").values_list("classroom", "member__name"):
        teachers[room].append(Asked(name, leads=False))
    leads: dict[int, list[Asked]] = defaultdict(list)
    leading = TeamRole.objects.filter(role="lead", team__in={room.team_id for room in rooms}, member__is_active=True)
    for team, name in leading.order_by("member__name").values_list("team", "member__name"):
        leads[team].append(Asked(name, leads=True))
    return {room.pk: teachers.get(room.pk) or leads.get(room.team_id, []) for room in rooms}
