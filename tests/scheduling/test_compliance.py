"""Readings are kept current by every kind of change, each touching only what it can reach."""

import datetime as dt
from collections.abc import Callable

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from scheduling.access import week_for_editing
from scheduling.models import Activity, Reading, Rule, Week
from scheduling.selectors.ledger import visibly
from scheduling.services import calendar, day_changes, rules, school_times, week_versions
from scheduling.services.compliance import recompute
from scheduling.services.day_changes import Happening
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import DayKind, SchoolYear
from teamroom.members.models import Classroom
from tests import factories as make

pytestmark = pytest.mark.django_db

WEEKLY = {"pool": {"of": ["math"]}, "at_least": 200, "window": "week"}
YEARLY = {"pool": {"of": ["math"]}, "at_least": 2000, "window": "year"}


@pytest.fixture
def year() -> SchoolYear:
    year = make.make_year()
    for key, grades in (("room12", ("4",)), ("room20", ("5",))):
        room = make.make_classroom(year, key, grades)
        teacher = make.make_teacher(room, f"Teacher{grades[0]}")
        week = make.make_week(room)
        make.add(week, teacher, *[(day, "12:00", "13:00", "math") for day in ("mon", "tue", "wed", "thu", "fri")])
    make.make_rule(year, "weekly", WEEKLY, ("4", "5"))
    make.make_rule(year, "yearly", YEARLY, ("4", "5"))
    return year


def room(key: str) -> Classroom:
    return Classroom.objects.get(key=key)


def yearly(key: str) -> object:
    return Reading.objects.get(classroom__key=key, rule__key="yearly", part=0).planned


def agree(year: SchoolYear) -> bool:
    """Whether what is stored is what a computation from nothing gives."""
    with transaction.atomic():
        return not recompute(make.begin(year), from_scratch=True)


def minimum(year: SchoolYear) -> DayKind:
    return year.day_kinds.get(key="minimum")


WEDNESDAY = dt.date(2026, 9, 16)
CHANGES: dict[str, tuple[Callable[[SchoolYear], object], tuple[int, int]]] = {
    "nothing": (lambda year: None, (2400, 2400)),
    "a minimum day clips the plain column at 12:30 where the grade has such a bell": (
        lambda year: calendar.set_day_kind(year, WEDNESDAY, minimum(year)),
        (2370, 2400),
    ),
    "a standing kind reaches every Wednesday": (
        lambda year: calendar.set_standing_kind(year, "wed", minimum(year)),
        (2400 - 8 * 30, 2400),
    ),
    "a closure takes its days from everybody": (
        lambda year: calendar.close_dates(year, WEDNESDAY, WEDNESDAY + dt.timedelta(1), "Storm"),
        (2280, 2280),
    ),
    "a day change reaches its classroom only": (
        lambda year: day_changes.place(
            year, Happening(WEDNESDAY, "Assembly", start=720, end=740, classrooms=(room("room12"),))
        ),
        (2380, 2400),
    ),
    "a day change for a team closes the team's day": (
        lambda year: day_changes.place(year, Happening(WEDNESDAY, "Flood", closed=True, teams=(room("room20").team,))),
        (2400, 2340),
    ),
    "a bell schedule reaches the classrooms its grade leads": (
        lambda year: school_times.set_bell_schedule(
            year,
            [("4", year.day_kinds.get(key="regular"))],
            school_times.BellTimes(
                480, 870, [school_times.Fixed(Activity.objects.get(year=year, key="math"), 840, 850)]
            ),
        ),
        (2800, 2400),
    ),
}


@pytest.mark.parametrize("change", CHANGES)
def test_each_kind_of_change_brings_the_readings_up_to_date(year: SchoolYear, change: str) -> None:
    act, expected = CHANGES[change]
    act(year)
    assert (yearly("room12"), yearly("room20")) == expected
    assert agree(year)


def test_lifting_a_day_change_heals_the_week(year: SchoolYear) -> None:
    placed, _ = day_changes.place(year, Happening(WEDNESDAY, "Assembly", start=720, end=780))
    assert yearly("room12") == 2340
    moved, _ = day_changes.move(placed, Happening(WEDNESDAY, "Assembly", start=720, end=730))
    assert yearly("room12") == 2390
    day_changes.lift(moved)
    assert (yearly("room12"), agree(year)) == (2400, True)


def test_changing_a_rule_touches_its_own_readings_only(year: SchoolYear) -> None:
    before = list(Reading.objects.filter(rule__key="weekly").order_by("pk").values())
    rule = Rule.objects.get(key="yearly")
    rule.body = {**YEARLY, "at_least": 2401}
    rules.set_rules(year, [rule])
    assert set(Reading.objects.filter(rule=rule).values_list("status", flat=True)) == {"short"}
    assert list(Reading.objects.filter(rule__key="weekly").order_by("pk").values()) == before
    assert agree(year)


def test_moving_the_date_of_a_week_moves_its_minutes(year: SchoolYear) -> None:
    week = Week.objects.get(classroom__key="room12")
    teacher = week.classroom.teachers.get()
    with transaction.atomic():
        week_versions.move_start(week_for_editing(teacher, week.pk), starts=dt.date(2026, 9, 14), member=teacher)
    assert (yearly("room12"), agree(year)) == (2100, True)


def test_the_command_finds_a_reading_that_was_tampered_with_and_puts_it_right(year: SchoolYear) -> None:
    call_command("recompute_readings")
    Reading.objects.filter(classroom__key="room12", rule__key="yearly", part=0).update(planned="9999")
    with pytest.raises(CommandError, match="1 readings differed"):
        call_command("recompute_readings", check=True)
    assert yearly("room12") == 9999
    with pytest.raises(CommandError, match="put right"):
        call_command("recompute_readings")
    assert yearly("room12") == 2400


def test_the_queries_of_a_recomputation_do_not_grow_with_classrooms(year: SchoolYear) -> None:
    with CaptureQueriesContext(connection) as few, transaction.atomic():
        recompute(make.begin(year), from_scratch=True)
    for n in range(20):
        make.make_week(make.make_classroom(year, f"more{n}"))
    with transaction.atomic():
        recompute(make.begin(year))
    with CaptureQueriesContext(connection) as many, transaction.atomic():
        recompute(make.begin(year), from_scratch=True)
    assert len(many) == len(few)


@pytest.mark.parametrize(
    ("credits", "sentence"),
    [
        ([("math", 61)], "come to 61 minutes and there are 60"),
        ([("math", 10), ("math", 10)], "each activity once"),
        ([("math", 0)], "at least one minute"),
        ([("nothing", 10)], "one of this year's activities"),
    ],
)
def test_a_day_change_that_credits_what_it_cannot_is_refused_and_nothing_is_written(
    year: SchoolYear, credits: list[tuple[str, int]], sentence: str
) -> None:
    ids = dict(Activity.objects.filter(year=year).values_list("key", "pk"))
    credited = tuple((ids.get(key, 0), minutes) for key, minutes in credits)
    with pytest.raises(RuleBroken, match=sentence) as refused:
        day_changes.place(year, Happening(WEDNESDAY, "Trip", start=720, end=780, credits=credited))
    assert refused.value.field == "credits"
    assert yearly("room12") == 2400


BEFORE_THE_YEAR = dt.date(2026, 9, 4)


def begin_version(year: SchoolYear, starts: dt.date) -> object:
    with transaction.atomic():
        week = Week.objects.get(classroom__key="room12")
        return week_versions.start_week(week_for_editing(week.classroom.teachers.get(), week.pk), starts=starts)


OUTSIDE: dict[str, Callable[[SchoolYear], object]] = {
    "date of a kind": lambda year: calendar.set_day_kind(year, BEFORE_THE_YEAR, minimum(year)),
    "first day closed": lambda year: calendar.close_dates(year, BEFORE_THE_YEAR, WEDNESDAY, "Storm"),
    "last day closed": lambda year: calendar.close_dates(year, WEDNESDAY, dt.date(2027, 1, 1), "Storm"),
    "day change": lambda year: day_changes.place(year, Happening(BEFORE_THE_YEAR, "Trip", start=720, end=780)),
    "version of a week": lambda year: begin_version(year, BEFORE_THE_YEAR),
}


@pytest.mark.parametrize("deed", OUTSIDE)
def test_a_date_outside_the_year_is_refused_with_the_dates_it_has(year: SchoolYear, deed: str) -> None:
    with pytest.raises(RuleBroken, match="Choose a date from 07 Sep 2026 to 30 Oct 2026"):
        OUTSIDE[deed](year)
    assert (yearly("room12"), Week.objects.count()) == (2400, 2)


def test_a_reading_that_only_rests_on_other_inputs_is_not_shown_as_changed(year: SchoolYear) -> None:
    with transaction.atomic():
        week = Week.objects.get(classroom__key="room12")
        held = week_for_editing(week.classroom.teachers.get(), week.pk)
        _, changes = week_versions.start_week(held, starts=dt.date(2026, 10, 5))
    assert changes.pairs
    assert not any(visibly(pair) for pair in changes.pairs)
