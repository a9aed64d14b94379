"""Whom to talk to about a class: who teaches it on a date, else who leads its team."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection

from django.db.models import Q

from teamroom.members.models import Classroom, ClassTeacher, TeamRole


def whom_to_ask(rooms: Collection[Classroom], on: dt.date) -> dict[int, str]:
    """By classroom the names of its teachers on a date; of a class without one, of its team's lead."""
    begun = Q(first_day=None) | Q(first_day__lte=on)
    goes_on = Q(last_day=None) | Q(last_day__gte=on)
    teachers: dict[int, list[str]] = defaultdict(list)
    taught = ClassTeacher.objects.filter(begun & goes_on, classroom__in=rooms, member__is_active=True)
    for room, name in taught.order_by("member__name").values_list("classroom", "member__name"):
        teachers[room].append(name)
    leads: dict[int, list[str]] = defaultdict(list)
    leading = TeamRole.objects.filter(role="lead", team__in={room.team_id for room in rooms}, member__is_active=True)
    for team, name in leading.order_by("member__name").values_list("team", "member__name"):
        leads[team].append(f"{name} (who leads the team)")
    found = {room.pk: teachers.get(room.pk) or leads.get(room.team_id) for room in rooms}
    return {pk: ", ".join(names) for pk, names in found.items() if names}
