"""A year with classrooms, a week and an administrator."""

from dataclasses import dataclass

import pytest
from django.test import Client

from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, Member
from tests.factories import add, make_classroom, make_coordinator, make_teacher, make_week, make_year

DAY = (
    ("08:00", "09:00", "reading"),
    ("09:00", "09:50", "math"),
    ("10:00", "10:20", "recess"),
    ("10:20", "10:50", "pe"),
)


@dataclass
class Place:
    """Room 12 plans Monday to Wednesday; room 14, of grades 4 and 5, has no week."""

    year: SchoolYear
    room: Classroom
    other: Classroom
    teacher: Member
    administrator: Member


@pytest.fixture
def place(db: None) -> Place:
    year = make_year()
    room, other = make_classroom(year), make_classroom(year, "room14", ("4", "5"))
    teacher = make_teacher(room)
    administrator = make_coordinator(year.school, "Ada", "administrator")
    add(make_week(room), teacher, *((day, *block) for day in ("mon", "tue", "wed") for block in DAY))
    return Place(SchoolYear.objects.get(pk=year.pk), room, other, teacher, administrator)


@pytest.fixture
def client(place: Place) -> Client:
    """The administrator's browser."""
    client = Client()
    client.force_login(place.administrator)
    return client
