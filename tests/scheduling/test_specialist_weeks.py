"""A specialist's week on other kinds of day, out of bells, by date and by cycle; and that it shows nothing else."""

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.models import Block, Column, FixedStretch, SpecialistPost, Week
from scheduling.selectors.specialist_week import OwnDay, OwnWeek, own_week
from scheduling.selectors.specialists import posts_in, teaches_said
from scheduling.services import specialists, weeks
from scheduling.services.specialists import PostToBe
from teamroom.common.clock import minutes_of
from teamroom.dates.models import CalendarDay, School, SchoolYear, StandingKind
from teamroom.members.models import Classroom, ClassTeacher, Member, TeamRole
from tests.factories import (
    FIRST_DAY,
    LAST_DAY,
    add,
    begin,
    make_classroom,
    make_coordinator,
    make_member,
    make_teacher,
    make_teammate,
    make_week,
    make_year,
    placing,
)

pytestmark = pytest.mark.django_db

DASH = "\N{EN DASH}"


@pytest.fixture
def year(db: None) -> SchoolYear:
    return make_year()


@pytest.fixture
def room(year: SchoolYear) -> Classroom:
    return make_classroom(year)


@pytest.fixture
def theo(room: Classroom) -> Member:
    """Teaches art to all the school, and is nothing else to it."""
    member = make_member("Theo")
    art = room.year.activities.get(key="art")
    SpecialistPost.objects.create(year=room.year, member=member, activity=art)
    return member


def week_of(member: Member, on: dt.date = FIRST_DAY) -> OwnWeek:
    year = SchoolYear.objects.filter(specialist_posts__member=member).distinct().get()
    return own_week(year, list(posts_in(year, member)), on)


def day_of(week: OwnWeek, title: str, strip: int = 0) -> OwnDay:
    return next(day for day in week.strips[strip].days if day.title == title)


def told(day: OwnDay) -> list[tuple[str, str]]:
    """A day line by line: times, and the class or nothing where it is free."""
    return [(line.times, line.name) for line in day.lines]


def fix(year: SchoolYear, kind: str, start: str, end: str, activity: str = "art") -> None:
    FixedStretch.objects.create(
        bell_schedule=year.bell_schedules.get(kind__key=kind),
        activity=year.activities.get(key=activity),
        start=minutes_of(start),
        end=minutes_of(end),
        days=["mon"],
    )
    begin(year)


def url(year: SchoolYear, member: Member, on: object = FIRST_DAY) -> str:
    return reverse("scheduling:specialist-week", args=[year.pk, member.pk]) + f"?on={on}"


def test_what_is_free_lies_between_the_first_bell_and_the_last(room: Classroom, theo: Member) -> None:
    add(make_week(room), make_teacher(room), ("mon", "09:00", "09:40", "art"), ("mon", "10:00", "10:30", "art"))
    monday = day_of(week_of(theo), "Monday")
    assert told(monday) == [
        (f"8:00{DASH}9:00", ""),
        (f"9:00{DASH}9:40", "Room12"),
        (f"9:40{DASH}10:00", ""),
        (f"10:00{DASH}10:30", "Room12"),
        (f"10:30{DASH}2:30", ""),
    ]
    assert (monday.minutes, monday.free, monday.longest) == (70, 320, 240)
    tuesday = day_of(week_of(theo), "Tuesday")
    assert (told(tuesday), tuesday.minutes) == ([], 0)


def test_the_bells_alone_fix_a_class_before_its_first_week(room: Classroom, theo: Member) -> None:
    fix(room.year, "regular", "10:00", "10:40")
    week = week_of(theo)
    assert week.unplanned == ("Room12",)
    assert (f"10:00{DASH}10:40", "Room12") in told(day_of(week, "Monday"))
    assert day_of(week, "Tuesday").minutes == 0


def test_a_block_over_fixed_time_takes_it_from_the_specialist(room: Classroom, theo: Member) -> None:
    fix(room.year, "regular", "10:00", "10:40")
    add(make_week(room), make_teacher(room), ("mon", "10:30", "11:00", "math"))
    assert day_of(week_of(theo), "Monday").minutes == 30


def test_two_classes_of_a_grade_that_the_bells_send_at_once_clash(room: Classroom, theo: Member) -> None:
    make_classroom(room.year, "room14")
    fix(room.year, "regular", "10:00", "10:40")
    (clash,) = week_of(theo).clashes
    assert (clash.classes, clash.times) == ("Room12 and Room14", f"10:00{DASH}10:40")
    # Nobody teaches them and nobody leads their team.
    assert clash.ask == "the office about Room12 and Room14"
    make_teammate(room.team, "Lena", "lead")
    make_teacher(room)
    assert week_of(theo).clashes[0].ask == "Olive and Lena (who leads the team)"


def test_whom_to_talk_to_is_who_has_the_class_on_the_date(room: Classroom, theo: Member) -> None:
    make_classroom(room.year, "room14")
    fix(room.year, "regular", "10:00", "10:40")
    for name, dates in (("Olive", {"last_day": FIRST_DAY}), ("Tamsin", {"first_day": FIRST_DAY + dt.timedelta(1)})):
        ClassTeacher.objects.create(classroom=room, member=make_teammate(room.team, name), **dates)
    assert week_of(theo).clashes[0].ask.startswith("Olive and")
    assert week_of(theo, LAST_DAY).clashes[0].ask.startswith("Tamsin and")


def test_clashes_alike_on_several_days_are_told_once(room: Classroom, theo: Member) -> None:
    other = make_classroom(room.year, "room14")
    for each, name in ((room, "Olive"), (other, "Perry")):
        add(make_week(each), make_teacher(each, name), *((day, "09:00", "09:40", "art") for day in ("mon", "thu")))
    week = week_of(theo)
    (clash,) = week.clashes
    assert (clash.days, week.times_at_once) == ("Mon and Thu", 2)
    assert all(line.clashes for line in day_of(week, "Thursday").lines if line.pk)


def test_one_class_right_after_another_is_said_and_is_no_clash(room: Classroom, theo: Member) -> None:
    other = make_classroom(room.year, "room14")
    add(make_week(room), make_teacher(room), ("mon", "09:00", "09:40", "art"))
    add(make_week(other), make_teacher(other, "Perry"), ("mon", "09:40", "10:20", "art"))
    week = week_of(theo)
    assert week.clashes == ()
    assert [line.note for line in day_of(week, "Monday").lines if line.pk] == ["", "straight on from Room12"]


def test_part_of_an_integrated_block_is_said_to_be_part(year: SchoolYear, room: Classroom, theo: Member) -> None:
    week = make_week(room)
    where = placing(year, "mon", "09:00", "10:00", "reading", credits={"reading": 40, "art": 20})
    weeks.add_block(Week.objects.get(pk=week.pk), member=make_teacher(room), placing=where)
    (line,) = [line for line in day_of(week_of(theo), "Monday").lines if line.pk]
    assert (line.length, line.what) == (60, "20 minutes of Art in it")


def test_which_of_several_activities_it_is_is_said(year: SchoolYear, room: Classroom, theo: Member) -> None:
    specialists.give_post(year, theo, PostToBe(year.activities.get(key="pe")))
    add(make_week(room), make_teacher(room), ("mon", "09:00", "09:40", "art"), ("tue", "09:00", "09:30", "pe"))
    week = week_of(theo)
    lines = [line.what for day in week.strips[0].days for line in day.lines if line.pk]
    assert lines == ["Art", "PE"]
    assert teaches_said(posts_in(year, theo)) == "Art and PE to all the school"


def test_another_kind_of_day_is_told_apart_where_it_comes_out_differently(room: Classroom, theo: Member) -> None:
    minimum = room.year.day_kinds.get(key="minimum")
    StandingKind.objects.create(year=room.year, weekday="wed", kind=minimum)
    for date in (dt.date(2026, 9, 14), dt.date(2026, 9, 15)):
        CalendarDay.objects.create(year=room.year, date=date, kind=minimum)
    begin(room.year)
    fix(room.year, "minimum", "11:00", "11:30")
    days = ("mon", "tue", "wed")
    add(make_week(room), make_teacher(room), *((day, "12:00", "13:00", "art") for day in days))
    week = week_of(theo)
    wednesday = day_of(week, "Wednesday")
    # Cut at 12:30, when a minimum day ends; what the bells fix is theirs of a Monday alone.
    assert (wednesday.kind, wednesday.minutes) == ("minimum day", 30)
    assert [strip.title for strip in week.strips] == ["", "Minimum day"]
    assert [(day.title, day.minutes) for day in week.strips[1].days] == [("Monday", 60), ("Tuesday", 30)]
    assert week.strips[0].minutes == 60 + 60 + 30


def test_the_version_of_a_week_in_effect_on_the_date_counts(room: Classroom, theo: Member) -> None:
    teacher, later = make_teacher(room), FIRST_DAY + dt.timedelta(28)
    add(make_week(room), teacher, ("mon", "09:00", "09:40", "art"))
    add(make_week(room, later), teacher, ("tue", "10:00", "10:40", "art"))
    assert day_of(week_of(theo, later - dt.timedelta(1)), "Monday").minutes == 40
    assert day_of(week_of(theo, later), "Monday").minutes == 0
    assert day_of(week_of(theo, later), "Tuesday").minutes == 40


@pytest.mark.parametrize(
    ("cycle", "strips", "titles"),
    [
        ({"cycle_kind": "alternating weeks"}, ["Week A", "Week B"], ["Monday of week A", "Friday of week B"]),
        ({"cycle_kind": "rotating days", "cycle_length": 4}, [""], ["Day 1", "Day 4"]),
    ],
)
def test_other_cycles_have_their_own_days(cycle: dict[str, object], strips: list[str], titles: list[str]) -> None:
    year = make_year("Hartwell School", **cycle)
    make_classroom(year)
    theo = make_member("Theo")
    SpecialistPost.objects.create(year=year, member=theo, activity=year.activities.get(key="art"))
    week = week_of(theo)
    assert [strip.title for strip in week.strips] == strips
    assert [week.strips[0].days[0].title, week.strips[-1].days[-1].title] == titles


@pytest.mark.parametrize(
    ("on", "shown", "outside"),
    [
        ("2026-10-05", dt.date(2026, 10, 5), False),
        ("2026-01-01", FIRST_DAY, True),
        ("2030-01-01", LAST_DAY, True),
        ("tomorrow", None, False),
        ("", None, False),
    ],
)
def test_a_date_is_brought_into_the_year(
    client: Client, year: SchoolYear, theo: Member, on: str, shown: dt.date | None, outside: bool
) -> None:
    client.force_login(theo)
    page = client.get(url(year, theo, on))
    today = min(max(School.objects.get().today(), FIRST_DAY), LAST_DAY)
    assert (page.status_code, page.context["on"], page.context["outside"]) == (200, shown or today, outside)
    assert ("The year runs from" in page.text) is outside


def test_a_specialist_who_is_nothing_else_sees_their_stretches_and_nothing_more(
    client: Client, year: SchoolYear, room: Classroom, theo: Member
) -> None:
    add(make_week(room), make_teacher(room), ("mon", "09:00", "09:40", "art"), ("mon", "10:00", "11:00", "science"))
    Block.objects.update(why="Because the kiln is hot then")
    client.force_login(theo)
    shown = client.get(url(year, theo)).text
    assert f"9:00{DASH}9:40" in shown and "Room12" in shown
    for hidden in ("Science", "kiln", reverse("scheduling:week", args=[room.pk])):
        assert hidden not in shown.split("<main")[1]
    others = [reverse("scheduling:week", args=[room.pk]), reverse("members:teams", args=[year.pk])]
    assert [client.get(path).status_code for path in others] == [404, 404]
    # As a guest of its team they may read all of it, and find the way there.
    TeamRole.objects.create(team=room.team, member=theo, role="guest")
    assert reverse("scheduling:week", args=[room.pk]) in client.get(url(year, theo)).text


def test_the_home_page_leads_a_specialist_to_their_week(client: Client, year: SchoolYear, theo: Member) -> None:
    client.force_login(theo)
    shown = client.get("/").text
    assert "You teach Art to all the school." in shown
    assert reverse("scheduling:specialist-week", args=[year.pk, theo.pk]) in shown
    assert "No classroom is yours to see yet" not in shown
    client.force_login(make_coordinator(year.school))
    assert "You teach" not in client.get("/").text


def test_the_end_of_the_last_post_is_the_end_of_the_page(client: Client, year: SchoolYear, theo: Member) -> None:
    client.force_login(theo)
    assert client.get(url(year, theo)).status_code == 200
    specialists.end_post(SpecialistPost.objects.get())
    assert client.get(url(year, theo)).status_code == 404
    client.force_login(make_coordinator(year.school))
    assert client.get(url(year, theo)).status_code == 404


spans = st.tuples(st.integers(480, 869), st.integers(1, 120)).map(lambda pair: (pair[0], min(870, sum(pair))))


def apart(some: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Those of the spans that overlap none before them."""
    kept: list[tuple[int, int]] = []
    for start, end in sorted(some):
        if not kept or start >= kept[-1][1]:
            kept.append((start, end))
    return kept


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(drawn=st.lists(st.lists(spans, max_size=4).map(apart), min_size=1, max_size=4))
def test_a_weeks_figures_are_those_of_a_count_minute_by_minute(
    room: Classroom, theo: Member, drawn: list[list[tuple[int, int]]]
) -> None:
    """The bell is from 8:00 to 14:30. The count knows only the blocks, and shares nothing with the page."""
    Classroom.objects.exclude(pk=room.pk).delete()
    Week.objects.all().delete()
    art, kind = room.year.activities.get(key="art"), room.year.day_kinds.get(key="regular")
    classes = [room, *(make_classroom(room.year, f"more{number}") for number in range(len(drawn) - 1))]
    taken = [0] * 1440
    for each, some in zip(classes, drawn, strict=True):
        column = Column.objects.create(week=make_week(each), day="mon", kind=kind)
        Block.objects.bulk_create(Block(column=column, start=start, end=end, activity=art) for start, end in some)
        for start, end in some:
            for minute in range(start, end):
                taken[minute] += 1
    week = week_of(theo)
    monday = day_of(week, "Monday")
    assert monday.minutes == sum(count > 0 for count in taken)
    assert monday.free == (sum(not count for count in taken[480:870]) if any(drawn) else 0)
    assert sum(clash.length for clash in week.clashes) == sum(count > 1 for count in taken)
