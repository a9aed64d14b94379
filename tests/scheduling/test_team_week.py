"""The week of a team: which weeks and days it shows, clashes, empty states, and what it costs."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.models import Activity, Block, TeamBlock
from scheduling.selectors.team_week import TeamColumn, team_week
from scheduling.services import drafts
from teamroom.common.clock import minutes_of
from teamroom.dates.models import CalendarDay, StandingKind
from teamroom.members.models import Team
from tests import factories as make
from tests.scheduling.sharing_rooms import Rooms, block_in, put
from tests.scheduling.team_week_pages import client_of, make_freeing_rooms, page, team_of, told, url

pytestmark = pytest.mark.django_db

DASH = "\N{EN DASH}"


@pytest.fixture
def rooms(db: None) -> Rooms:
    """Two classrooms of grade 4; art and PE are taught by somebody else."""
    return make_freeing_rooms()


def names(column: TeamColumn) -> list[str]:
    return [cell.name for cell in column.column.cells if cell.what == "block"]


# Which weeks and days


def test_the_same_time_lies_at_the_same_height_in_every_classroom(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "07:30", "08:00", "math"))
    put(rooms, 14, ("mon", "14:30", "15:15", "math"))
    week = told(rooms)
    assert (week.axis.first, week.axis.last) == (minutes_of("07:30"), minutes_of("15:30"))
    starts = {cell.start for one in week.day(("mon", "regular")).columns for cell in one.column.cells}
    assert starts >= {minutes_of("07:30"), minutes_of("14:30")}


def test_the_version_in_effect_on_the_date_is_shown(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "08:00", "09:00", "math"))
    later = make.FIRST_DAY + dt.timedelta(28)
    rooms.weeks[120] = make.make_week(rooms.weeks[12].classroom, later)
    put(rooms, 120, ("mon", "08:00", "09:00", "science"))
    monday = ("mon", "regular")
    assert names(told(rooms, later - dt.timedelta(1)).day(monday).columns[0]) == ["Math"]
    assert names(told(rooms, later).day(monday).columns[0]) == ["Science"]


def test_another_kind_of_day_is_drawn_as_the_counting_takes_it(rooms: Rooms) -> None:
    minimum = rooms.year.day_kinds.get(key="minimum")
    CalendarDay.objects.create(year=rooms.year, date=dt.date(2026, 9, 14), kind=minimum)
    make.begin(rooms.year)
    put(rooms, 12, ("mon", "12:00", "13:00", "math"))
    put(rooms, 14, ("mon", "12:00", "13:00", "math"))
    put(rooms, 14, ("", "09:00", "10:00", "art"), kind="minimum")  # type: ignore[arg-type]  # a kind's key
    week = told(rooms)
    assert [(kind, [one.key for one in some]) for kind, some in week.other_choices(("mon", "regular"))] == [
        ("Minimum day", ["mon:minimum"])
    ]
    cut, own = week.day(week.chosen_day("mon:minimum", make.FIRST_DAY)).columns
    assert (cut.column.cells[-1].tag, names(own)) == ("cut", ["Art"])


def test_a_date_of_another_kind_opens_on_that_kind(rooms: Rooms) -> None:
    date = dt.date(2026, 9, 14)
    CalendarDay.objects.create(year=rooms.year, date=date, kind=rooms.year.day_kinds.get(key="minimum"))
    make.begin(rooms.year)
    put(rooms, 12, ("mon", "08:00", "09:00", "math"))
    week = told(rooms)
    assert week.chosen_day("", date) == ("mon", "minimum")
    assert week.chosen_day("", date + dt.timedelta(1)) == ("tue", "regular")
    assert week.chosen_day("", dt.date(2026, 9, 19)) == week.chosen_day("rubbish", dt.date(2026, 9, 19))


def test_a_weekday_that_is_always_short_is_told_by_its_kind(rooms: Rooms) -> None:
    StandingKind.objects.create(year=rooms.year, weekday="wed", kind=rooms.year.day_kinds.get(key="minimum"))
    make.begin(rooms.year)
    week = told(rooms)
    assert [(day.title, day.kind) for day in week.days()][1:3] == [("Tuesday", ""), ("Wednesday", "minimum day")]


def test_retired_classrooms_are_out_and_a_combination_class_is_in_with_its_first_grades_bells(rooms: Rooms) -> None:
    combined = make.make_classroom(rooms.year, "room9", ("4", "5"))
    make.make_week(combined)
    rooms.weeks[14].classroom.retired = True
    rooms.weeks[14].classroom.save()
    week = told(rooms)
    assert [head.name for head in week.heads] == ["Room12", "Room9"]
    assert week.day(("mon", "regular")).columns[1].column.bell == f"8:00{DASH}2:30"


def test_a_rotation_has_its_own_days(db: None) -> None:
    year = make.make_year(cycle_kind="rotating days", cycle_length=4)
    room = make.make_classroom(year)
    make.make_week(room)
    week = team_week(Team.objects.select_related("year__school").get(), make.FIRST_DAY, [], 15)
    assert [choice.title for choice in week.usual_choices(("1", "regular"))] == ["Day 1", "Day 2", "Day 3", "Day 4"]


def test_alternating_weeks_stand_apart_with_minutes_of_their_own(db: None) -> None:
    year = make.make_year(cycle_kind="alternating weeks")
    Activity.objects.filter(year=year, key="art").update(frees_teacher=True)
    teacher = make.make_coordinator(year.school, "Ana", "administrator")
    for key in ("room12", "room14"):
        make.add(make.make_week(make.make_classroom(year, key)), teacher, ("A-mon", "09:00", "09:40", "art"))
    common = team_week(Team.objects.select_related("year__school").get(), make.FIRST_DAY, [], 15).common
    assert [(strip.title, strip.minutes) for strip in common.strips] == [("Week A", 40), ("Week B", 0)]


# What a head, a block and a clash say


def test_a_head_says_how_the_classroom_stands_by_its_stored_readings(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "08:00", "09:00", "math"))
    make.make_rule(rooms.year, "math", {"pool": {"of": ["math"]}, "at_least": 60})
    make.make_rule(rooms.year, "art", {"pool": {"of": ["art"]}, "at_least": 60})
    assert [head.summary for head in told(rooms).heads] == ["meets 1 of 2 rules", "meets 0 of 2 rules"]
    assert "meets 1 of 2 rules" in page(rooms)


def test_team_blocks_are_told_in_words(rooms: Rooms) -> None:
    together = TeamBlock.objects.create(team=team_of(rooms))
    for room in (12, 14):
        put(rooms, room, ("mon", "13:00", "13:30", "pe"))
    Block.objects.update(together=together)
    cell = next(c for c in told(rooms).day(("mon", "regular")).columns[0].column.cells if c.what == "block")
    assert cell.rooms == 2
    assert "Team block, in 2 classrooms." in cell.label
    assert page(rooms, day="mon").count("team of 2") == 2


def test_both_blocks_of_a_clash_are_marked_and_it_is_listed_with_all_parties(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "science"), lab=1)
    put(rooms, 14, ("mon", "09:30", "10:30", "science"), lab=1)
    week = told(rooms)
    monday, tuesday = (week.day((day, "regular")) for day in ("mon", "tue"))
    marked = [c for one in monday.columns for c in one.column.cells if c.state == "clash"]
    assert [c.notes for c in marked] == [
        (f"Clash: Science lab 9:30{DASH}10:00, Room14 too",),
        (f"Clash: Science lab 9:30{DASH}10:00, Room12 too",),
    ]
    assert [c.needs for c in marked] == ["Science lab", "Science lab"]
    assert all(note in c.label for c in marked for note in c.notes)
    assert not [c for one in tuesday.columns for c in one.column.cells if c.state]
    assert [clash.said for clash in week.clashes] == [
        f"Science lab, Monday 9:30{DASH}10:00: Room12 (9:00{DASH}10:00) and Room14 (9:30{DASH}10:30)"
    ]


def test_a_clash_with_another_team_is_told_and_one_among_others_is_not(rooms: Rooms) -> None:
    for number in (31, 32):
        rooms.weeks[number] = make.make_week(make.make_classroom(rooms.year, f"room{number}", ("5",)))
        put(rooms, number, ("tue", "09:00", "10:00", "science"), lab=1)
    assert told(rooms).clashes == []
    put(rooms, 12, ("tue", "09:00", "10:00", "science"), lab=1)
    assert [clash.parties for clash in told(rooms).clashes] == ["Room12, Room31 and Room32"]


# The page


@pytest.mark.parametrize("view", ["day", "classroom", "small", "paper", "rubbish"])
def test_every_view_shows_the_team_and_leads_to_blocks_or_days(rooms: Rooms, view: str) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "math"))
    shown = page(rooms, view=view)
    assert "Room12" in shown and "Room14" in shown
    if view == "small":
        assert f'aria-label="Math 9:00{DASH}10:00. "' in shown
    else:
        assert f'href="/blocks/{block_in(rooms, 12).pk}/"' in shown


def test_links_keep_what_else_was_asked_and_nothing_of_how_it_was_asked(rooms: Rooms) -> None:
    asked = url(rooms, view="day", day="tue", shortest=30, topics="x")
    shown = client_of(rooms.ada).get(asked, headers={"HX-Request": "true"}).content.decode()
    links = [link.split('"')[0] for link in shown.split('href="?')[1:]]
    assert links
    assert all("shortest=30" in link and f"on={make.FIRST_DAY}" in link and "topics" not in link for link in links)
    assert {link.split("day=")[1][:3] for link in links if "view=day" in link} >= {"mon", "tue", "fri"}


def test_free_time_is_offered_to_who_may_fill_it_and_to_nobody_else(rooms: Rooms) -> None:
    guest = make.make_teammate(team_of(rooms), "Guido", "guest")
    own = make.make_teacher(rooms.weeks[12].classroom, "Olive")
    counts = [client_of(who).get(url(rooms)).content.decode().count("/blocks/add/") for who in (rooms.ada, own, guest)]
    assert counts == [2, 1, 0]


def test_a_date_outside_the_year_is_brought_into_it_and_said(rooms: Rooms) -> None:
    assert "The year runs from 7 Sep 2026 to 30 Oct 2026: this is as of 30 Oct 2026." in page(rooms, on="2030-01-01")


def test_an_open_page_is_told_that_it_is_current_or_given_what_it_shows(rooms: Rooms) -> None:
    ada, asks = client_of(rooms.ada), {"HX-Request": "true"}
    shown = page(rooms)
    topics = shown.split('data-live-topics="')[1].split('"')[0]
    assert topics.count("classroom-") == 2 and "year-" in topics
    assert ada.get(url(rooms, topics=topics.replace(" ", "+")), headers=asks).status_code == 204
    put(rooms, 14, ("mon", "09:00", "10:00", "science"))
    answer = ada.get(url(rooms, topics=topics.replace(" ", "+")), headers=asks)
    assert answer.status_code == 200
    now = answer.content.decode()
    assert now.startswith('<div id="team-week"') and 'hx-swap-oob="true"' in now and "Science" in now


def test_an_edit_made_beside_the_team_says_what_it_did_and_offers_to_undo_it(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "science"), lab=1)
    put(rooms, 14, ("mon", "10:00", "11:00", "science"), lab=1)
    block = block_in(rooms, 14)
    sent = {
        "place": f"mon:{block.column.kind_id}",
        "start": "09:30",
        "end": "10:30",
        "revision": str(block.revision),
        "beside": "1",
    }
    ada = client_of(rooms.ada)
    answer = ada.post(reverse("scheduling:block-move", args=[block.pk]), sent, headers={"HX-Request": "true"})
    said = answer.content.decode()
    assert said.startswith("Room14: Science moved to Mon 9:30.")
    assert "Science lab is also Room12’s from 9:30 to 10:00 on Monday." in said
    assert "hx-swap-oob" not in said and ">Undo</button>" in said


def test_a_team_without_classrooms_and_classrooms_without_weeks_say_what_comes_next(rooms: Rooms) -> None:
    later, drafted, empty = (make.make_classroom(rooms.year, f"room{n}") for n in (21, 22, 23))
    rooms.weeks[21] = make.make_week(later, make.FIRST_DAY + dt.timedelta(28))
    week = make.make_week(drafted)
    drafts_of = drafts.prepare_draft(week, starts=make.FIRST_DAY + dt.timedelta(7), member=rooms.ada, name="")
    week.delete()
    assert drafts_of.draft
    shown = page(rooms)
    assert "Its week begins on Mon 5 Oct 2026" in shown
    assert "There is a draft; it counts once it is put in effect." in shown
    assert f'<a href="{reverse("scheduling:week", args=[empty.pk])}">Begin its week</a>' in shown
    none = Team.objects.create(year=rooms.year, key="none", name="Nobody yet", grades=["6"])
    answer = client_of(rooms.ada).get(reverse("scheduling:team-week", args=[none.pk]))
    assert "No classroom yet" in answer.content.decode()


def test_who_may_not_begin_a_week_is_told_who_may(rooms: Rooms) -> None:
    make.make_classroom(rooms.year, "room23")
    guest = make.make_teammate(team_of(rooms), "Guido", "guest")
    assert (
        "Its teachers, the team’s lead or an administrator begin it."
        in client_of(guest).get(url(rooms)).content.decode()
    )


def test_where_nothing_frees_a_teacher_the_page_says_where_to_say_so(rooms: Rooms) -> None:
    Activity.objects.filter(year=rooms.year).update(frees_teacher=False)
    assert "Nothing says yet when somebody else has a class." in page(rooms)


def test_it_is_found_from_the_years_page_the_teams_and_a_week(rooms: Rooms) -> None:
    ada, to = client_of(rooms.ada), reverse("scheduling:team-week", args=[team_of(rooms).pk])
    for name, pk in (
        ("year", rooms.year.pk),
        ("members:teams", rooms.year.pk),
        ("scheduling:week", rooms.weeks[12].classroom_id),
    ):
        assert f'href="{to}' in ada.get(reverse(name, args=[pk])).content.decode(), name


@pytest.mark.parametrize("view", ["day", "classroom", "small", "paper"])
def test_queries_do_not_grow_with_classrooms(rooms: Rooms, view: str) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "science"), lab=1)
    ada = client_of(rooms.ada)

    def asked() -> int:
        ada.get(url(rooms, view=view))
        with CaptureQueriesContext(connection) as queries:
            ada.get(url(rooms, view=view))
        return len(queries)

    few = asked()
    for number in range(40, 58):
        rooms.weeks[number] = make.make_week(make.make_classroom(rooms.year, f"room{number}"))
        put(rooms, number, ("mon", "09:00", "10:00", "science"), lab=1)
        put(rooms, number, ("mon", "10:00", "10:40", "art"))
    assert asked() == few
