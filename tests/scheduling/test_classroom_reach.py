"""What a classroom brings along or leaves behind: day changes that reach it, and whatever names it."""

import datetime as dt
from functools import partial

import pytest
from django.db import transaction

from scheduling.models import DayChange, DayChangeReach, Reading, SpecialistPost
from scheduling.services import calendar, classrooms, day_changes
from scheduling.services.classrooms import ClassroomToBe
from scheduling.services.compliance import recompute
from scheduling.services.day_changes import Happening
from scheduling.services.preview import previewed
from teamroom.common.clock import minutes_of
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, Invitation, Team
from tests.factories import add, make_classroom, make_member, make_rule, make_teacher, make_week, make_year

pytestmark = pytest.mark.django_db

MONDAY = dt.date(2026, 9, 14)


@pytest.fixture
def room(db: None) -> Classroom:
    """A class of grade 4 with an hour of mathematics each Monday, which is what is asked for."""
    room = make_classroom(make_year())
    add(make_week(room), make_teacher(room), ("mon", "09:00", "10:00", "math"))
    make_rule(room.year, "math", {"pool": {"of": ["math"]}, "at_least": 60})
    return room


@pytest.fixture
def other(room: Classroom) -> Team:
    """Another team of the year."""
    return make_classroom(room.year, "room31", ("5",)).team


def happens(year: SchoolYear, name: str, start: str, end: str, *teams: Team, rooms: tuple[Classroom, ...] = ()) -> None:
    day_changes.place(
        year,
        Happening(MONDAY, name, start=minutes_of(start), end=minutes_of(end), teams=teams, classrooms=rooms),
    )


def reaching(room: Classroom) -> set[str]:
    return set(DayChangeReach.objects.filter(classroom=room).values_list("day_change__name", flat=True))


def to_be(room: Classroom, team: Team | None = None, name: str = "") -> ClassroomToBe:
    return ClassroomToBe(team or room.team, name or room.name, room.grades)


def status(room: Classroom) -> str:
    return Reading.objects.get(classroom=room, rule__key="math", part=None).status


def from_scratch_changes_nothing(year: SchoolYear) -> bool:
    with transaction.atomic():
        return not recompute(SchoolYear.objects.get(pk=year.pk), from_scratch=True)


def test_a_new_classroom_is_reached_by_what_is_for_the_school_and_for_its_team(room: Classroom, other: Team) -> None:
    happens(room.year, "Assembly", "08:00", "08:30")
    happens(room.year, "Outing", "09:00", "10:00", room.team)
    happens(room.year, "Theirs", "09:00", "10:00", other)
    happens(room.year, "One class", "11:00", "12:00", rooms=(room,))
    made = classrooms.make_classroom(to_be(room, name="Room 33"))
    assert reaching(made) == {"Assembly", "Outing"}
    assert from_scratch_changes_nothing(room.year)


def test_a_class_that_moves_leaves_its_teams_day_changes_and_meets_the_others(room: Classroom, other: Team) -> None:
    happens(room.year, "Assembly", "08:00", "08:30")
    happens(room.year, "Outing", "09:00", "10:00", room.team)
    happens(room.year, "Theirs", "13:00", "14:00", other)
    happens(room.year, "One class", "11:00", "12:00", rooms=(room,))
    assert (reaching(room), status(room)) == ({"Assembly", "Outing", "One class"}, "short")
    kept = DayChangeReach.objects.get(classroom=room, day_change__name="Assembly").pk
    assert classrooms.change_classroom(room, to_be(room, other))
    assert (reaching(room), status(room)) == ({"Assembly", "Theirs", "One class"}, "met")
    assert DayChangeReach.objects.filter(pk=kept).exists()
    assert from_scratch_changes_nothing(room.year)


def test_a_class_does_not_move_into_two_day_changes_at_once(room: Classroom, other: Team) -> None:
    happens(room.year, "One class", "09:00", "10:00", rooms=(room,))
    happens(room.year, "Theirs", "09:30", "11:00", other)
    with pytest.raises(RuleBroken, match="One class and Theirs take the same time on Mon 14 Sep") as refused:
        classrooms.change_classroom(room, to_be(room, other))
    assert refused.value.field == "team"
    kept = Classroom.objects.get(pk=room.pk)
    assert (kept.team, reaching(kept)) == (room.year.teams.get(key="grade4"), {"One class"})


def test_a_closing_and_another_change_of_that_day_do_not_meet_in_one_class(room: Classroom, other: Team) -> None:
    day_changes.place(room.year, Happening(MONDAY, "Boiler", closed=True, teams=(other,)))
    happens(room.year, "Outing", "09:00", "10:00", rooms=(room,))
    with pytest.raises(RuleBroken, match="Boiler and Outing"):
        classrooms.change_classroom(room, to_be(room, other))


def test_a_class_that_only_changes_its_grades_keeps_what_reaches_it(room: Classroom) -> None:
    happens(room.year, "Outing", "09:00", "10:00", room.team)
    before = list(DayChangeReach.objects.values())
    classrooms.change_classroom(room, ClassroomToBe(room.team, room.name, ["5", "4"]))
    assert list(DayChangeReach.objects.values()) == before


def test_what_names_a_class_alone_keeps_it_from_being_removed(room: Classroom) -> None:
    """Removed, it would leave a change or a post that names nothing, which means all the school."""
    spare = make_classroom(room.year, "spare")
    happens(room.year, "Outing", "09:00", "10:00", rooms=(spare,))
    with pytest.raises(RuleBroken, match="Outing on 14 Sep 2026 names Spare"):
        classrooms.remove_classroom(spare)
    DayChange.objects.all().delete()
    art = room.year.activities.get(key="art")
    post = SpecialistPost.objects.create(year=room.year, member=make_member("Theo"), activity=art)
    post.classrooms.add(spare)
    with pytest.raises(RuleBroken, match="Theo teaches Art there"):
        classrooms.remove_classroom(spare)
    post.delete()
    invited = Invitation.objects.create(
        school=room.year.school,
        email="nadia@school.example",
        token_hash="x",
        classroom=spare,
        expires_at=dt.datetime(2026, 12, 1, tzinfo=dt.UTC),
    )
    with pytest.raises(RuleBroken, match="nadia@school.example gives Spare: revoke it first"):
        classrooms.remove_classroom(spare)
    invited.delete()
    classrooms.remove_classroom(spare)
    assert not Classroom.objects.filter(key="spare").exists()


def test_what_a_change_of_the_year_would_do_leaves_retired_classes_out(room: Classroom) -> None:
    gone = make_classroom(room.year, "gone")
    add(make_week(gone), make_teacher(gone, "Perry"), ("mon", "09:00", "10:00", "math"))
    make_rule(room.year, "year", {"pool": {"of": ["math"]}, "at_least": 60 * 8, "window": "year"})
    close = partial(calendar.close_dates, room.year, MONDAY, MONDAY, "Storm")
    assert set(previewed(room.year, close).rooms) == {room.pk, gone.pk}
    classrooms.retire_classroom(gone)
    told = previewed(room.year, close)
    assert set(told.rooms) == {change.room for change in told.changes} == {room.pk}
    close()
    assert from_scratch_changes_nothing(room.year)
