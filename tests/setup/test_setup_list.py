"""The set-up list says what is there, and marks what comes next."""

import datetime as dt

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.models import Activity, BellSchedule
from teamroom.dates.models import Closure, DayKind, School, SchoolYear
from teamroom.setup.order import STEPS, around
from teamroom.setup.steps import Line, lines_of
from tests import factories as make

FIRST, LAST = dt.date(2026, 9, 7), dt.date(2026, 9, 18)


def empty_year() -> SchoolYear:
    """Two weeks at a school that has nothing yet but the kind of day that every year has."""
    school = School.objects.create(name="Fernhollow Elementary", time_zone="America/Chicago")
    year = SchoolYear.objects.create(school=school, name="2026-27", first_day=FIRST, last_day=LAST, being_set_up=True)
    DayKind.objects.create(year=year, key="regular", name="Regular day")
    return year


def line(year: SchoolYear, key: str) -> Line:
    return next(line for line in lines_of(year) if line.key == key)


@pytest.mark.django_db
def test_of_an_empty_year_the_closures_come_next_and_what_can_wait_is_said() -> None:
    states = {line.key: line.state for line in lines_of(empty_year())}
    assert states == {
        "dates": "done",
        "closures": "next",
        "kinds": "can wait",
        "activities": "to do",
        "bells": "to do",
        "rules": "to do",
        "teams": "to do",
        "people": "can wait",
        "week": "to do",
    }


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("required", "state", "said"),
    [
        (None, "done", "10 school days."),
        (9, "done", "10 school days, 1 more than the 9 you entered."),
        (10, "done", "10 school days, exactly the 10 you entered."),
        (12, "next", "10 school days, 2 fewer than the 12 you entered."),
    ],
)
def test_the_days_of_the_year_are_compared_with_the_number_entered(required: int | None, state: str, said: str) -> None:
    year = empty_year()
    year.required_days = required
    dates = line(year, "dates")
    assert dates.state == state
    assert dates.said == f"Mon 7 Sep 2026 to Fri 18 Sep 2026: {said}"


@pytest.mark.django_db
def test_a_closure_takes_days_out_and_makes_its_step_done() -> None:
    year = empty_year()
    Closure.objects.create(year=year, first_day=FIRST, last_day=FIRST, name="Labor Day")
    assert "9 school days" in line(year, "dates").said
    assert line(year, "closures").said == "1 closure, the first on Mon 7 Sep."
    assert line(year, "activities").state == "next"


@pytest.mark.django_db
def test_a_class_whose_first_grade_has_no_bells_opens_that_step_again() -> None:
    year = empty_year()
    Activity.objects.create(year=year, key="math", name="Mathematics")
    BellSchedule.objects.create(year=year, grade="4", kind=year.day_kinds.get(key="regular"), start=480, dismissal=870)
    assert line(year, "bells").state == "done"
    make.make_classroom(year, "room12", ("4", "5"))
    assert line(year, "bells").state == "done"
    make.make_classroom(year, "room31", ("5", "4"))
    bells = line(year, "bells")
    assert bells.state == "to do"
    assert "Give grade 5 times" in bells.wants


@pytest.mark.django_db
def test_the_first_week_leads_to_a_classroom_without_one() -> None:
    year = make.make_year()
    first, second = make.make_classroom(year), make.make_classroom(year, "room31", ("5",))
    assert line(year, "week").to == reverse("scheduling:week", args=[first.pk])
    make.make_week(first)
    week = line(year, "week")
    assert (week.state, week.said) == ("done", "1 of 2 classrooms has a week.")
    assert week.to == reverse("scheduling:week", args=[second.pk])
    make.make_week(second)
    assert line(year, "week").to == reverse("home")


@pytest.mark.django_db
def test_retired_classrooms_and_people_who_left_count_for_nothing() -> None:
    year = make.make_year()
    room = make.make_classroom(year)
    make.make_teacher(room)
    make.make_coordinator(year.school, "Ada", "administrator")
    assert line(year, "teams").said == "1 team, 1 classroom."
    assert line(year, "people").said == "2 people."
    year.classrooms.update(retired=True)
    gone = make.make_coordinator(year.school, "Gil")
    gone.is_active = False
    gone.save()
    assert line(year, "teams").state in ("to do", "next")
    assert line(year, "people").said == "2 people."


@pytest.mark.django_db
def test_the_list_asks_as_much_of_a_large_school_as_of_a_small_one() -> None:
    year = make.make_year()
    counts = []
    for size in (2, 18):
        for number in range(size):
            room = make.make_classroom(year, f"room{size}-{number}")
            make.make_teammate(room.team, f"Tam{size}x{number}")
        with CaptureQueriesContext(connection) as asked:
            lines_of(year)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_every_step_knows_the_one_before_and_after() -> None:
    assert around("scheduling:closures") == (STEPS[0], STEPS[2])
    assert around("scheduling:rule-library") == (STEPS[4], STEPS[6])
    assert around("scheduling:year-dates") == (None, STEPS[1])
    assert around("members:people") == (STEPS[6], None)
    assert around("home") is None


@pytest.mark.django_db
def test_the_button_ends_the_setting_up_and_can_be_taken_back() -> None:
    year = empty_year()
    admin = make.make_coordinator(year.school, "Ada", "administrator")
    client = Client()
    client.force_login(admin)
    page = client.get(reverse("setup", args=[year.pk]))
    assert "The school is set up" in page.text and "1 of 9 steps are done" in page.text
    client.post(reverse("setup-end", args=[year.pk]))
    year.refresh_from_db()
    assert not year.being_set_up
    assert "Set up again" in client.get(reverse("setup", args=[year.pk])).text
    client.post(reverse("setup-again", args=[year.pk]))
    year.refresh_from_db()
    assert year.being_set_up
