"""A team's week of two classrooms, some of whose activities free the teacher, and its page."""

import datetime as dt

from django.test import Client
from django.urls import reverse

from scheduling.models import Activity
from scheduling.selectors.team_week import TeamWeek, team_week
from teamroom.members.models import Member, Team
from tests import factories as make
from tests.scheduling.sharing_rooms import Rooms, make_rooms


def make_freeing_rooms() -> Rooms:
    """Two classrooms of grade 4; art and PE are taught by somebody else."""
    found = make_rooms(12, 14)
    Activity.objects.filter(year=found.year, key__in=("art", "pe")).update(frees_teacher=True)
    return found


def team_of(rooms: Rooms) -> Team:
    return Team.objects.select_related("year__school").get(year=rooms.year, key="grade4")


def told(rooms: Rooms, on: dt.date = make.FIRST_DAY, shortest: int = 15) -> TeamWeek:
    return team_week(team_of(rooms), on, [], shortest)


def client_of(member: Member) -> Client:
    client = Client()
    client.force_login(member)
    return client


def url(rooms: Rooms, **asked: object) -> str:
    query = "&".join(f"{name}={value}" for name, value in {"on": make.FIRST_DAY, **asked}.items())
    return f"{reverse('scheduling:team-week', args=[team_of(rooms).pk])}?{query}"


def page(rooms: Rooms, **asked: object) -> str:
    answer = client_of(rooms.ada).get(url(rooms, **asked))
    assert answer.status_code == 200
    return answer.content.decode()
