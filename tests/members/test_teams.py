"""Teams of a year: made, changed, retired and brought back, and the sheet that shows them."""

import datetime as dt

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.models import Reading
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, ClassTeacher, Member, Team, TeamRole
from teamroom.members.services import teams
from teamroom.members.services.teams import TeamToBe
from tests.factories import (
    make_classroom,
    make_coordinator,
    make_member,
    make_rule,
    make_teacher,
    make_teammate,
    make_year,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def year(db: None) -> SchoolYear:
    return make_year()


@pytest.fixture
def room(year: SchoolYear) -> Classroom:
    return make_classroom(year)


@pytest.fixture
def administrator(year: SchoolYear) -> Member:
    return make_coordinator(year.school, "Ada", "administrator")


@pytest.fixture
def page(client: Client, administrator: Member) -> Client:
    client.force_login(administrator)
    return client


def sheet_url(year: SchoolYear) -> str:
    return reverse("members:teams", args=[year.pk])


def test_a_teams_key_is_made_from_its_name_and_stays_when_it_is_renamed(year: SchoolYear) -> None:
    first = teams.make_team(year, TeamToBe("Grade 4", ["4"]))
    teams.change_team(first, TeamToBe("Grade four", ["4"]))
    second = teams.make_team(year, TeamToBe("Grade 4", ["4"]))
    assert (first.key, second.key) == ("grade-4", "grade-4-2")


def test_two_teams_of_a_year_do_not_share_a_name(year: SchoolYear) -> None:
    first = teams.make_team(year, TeamToBe("Grade 4", ["4"]))
    with pytest.raises(RuleBroken, match="a team Grade 4 already"):
        teams.make_team(year, TeamToBe("grade 4", ["4"]))
    teams.retire_team(first)
    with pytest.raises(RuleBroken, match="bring it back"):
        teams.make_team(year, TeamToBe("grade 4", ["4"]))
    teams.make_team(make_year("Another school"), TeamToBe("Grade 4", ["4"]))


def test_a_retired_team_takes_its_classrooms_along_and_brings_back_those_that_are_ticked(room: Classroom) -> None:
    other = make_classroom(room.year, "room14")
    before = make_classroom(room.year, "room16")
    Classroom.objects.filter(pk=before.pk).update(retired=True)
    assert teams.retire_team(room.team) == [room, other]
    assert not Classroom.objects.filter(retired=False).exists()
    assert teams.bring_team_back(room.team, [other.pk, make_classroom(make_year("Elsewhere")).pk]) == [other]
    assert list(room.year.classrooms.filter(retired=False)) == [other]


def test_a_team_is_added_by_its_page(page: Client, year: SchoolYear) -> None:
    url = reverse("members:team-add", args=[year.pk])
    answer = page.post(url, {"name": "Primary", "grades": "K, 1-2", "edits_together": "on"}, follow=True)
    made = Team.objects.get()
    assert (made.key, made.grades, made.edits_together) == ("primary", ["K", "1", "2"], True)
    assert "Primary is there." in answer.text


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({"name": "", "grades": "4"}, "Give the team a name"),
        ({"name": "Grade 4", "grades": ""}, "Name the grades"),
        ({"name": "Grade 4", "grades": "4, fith"}, "\N{LEFT DOUBLE QUOTATION MARK}fith"),
    ],
)
def test_a_refused_team_says_what_to_do_and_keeps_what_was_typed(
    page: Client, year: SchoolYear, data: dict[str, str], said: str
) -> None:
    answer = page.post(reverse("members:team-add", args=[year.pk]), data)
    assert answer.status_code == 422
    assert said in answer.text
    assert all(f'value="{value}"' in answer.text for value in data.values() if value)
    assert not Team.objects.exists()


def test_regrading_a_team_changes_no_reading_and_no_class(page: Client, room: Classroom) -> None:
    make_rule(room.year, "math", {"pool": {"of": ["math"]}, "at_least": 60})
    before = list(Reading.objects.values())
    year = SchoolYear.objects.get()
    page.post(reverse("members:team-change", args=[room.team_id]), {"name": "Grades 4 and 5", "grades": "4 5"})
    room.refresh_from_db()
    assert (room.team.name, room.team.grades, room.grades) == ("Grades 4 and 5", ["4", "5"], ["4"])
    assert list(Reading.objects.values()) == before
    assert SchoolYear.objects.get().revision == year.revision


def test_retiring_a_team_says_first_which_classrooms_go_with_it(page: Client, room: Classroom) -> None:
    url = reverse("members:team-retire", args=[room.team_id])
    assert "1 classroom retires with it: Room12" in page.get(url).text
    assert not Team.objects.get(pk=room.team_id).retired
    told = page.post(url, follow=True).text
    assert "Grade 4 is retired, and with it Room12." in told
    assert "Retired teams (1)" in told
    back = page.post(reverse("members:team-bring-back", args=[room.team_id]), {"classrooms": [room.pk]}, follow=True)
    assert "Grade 4 is back with Room12." in back.text


def test_the_sheet_shows_people_by_what_they_are_and_classes_with_their_counts(page: Client, room: Classroom) -> None:
    Classroom.objects.filter(pk=room.pk).update(enrolment=27, cap=25, room="12")
    make_teacher(room)
    make_teammate(room.team, "Lena", "lead")
    make_teammate(room.team, "Guido", "guest")
    sheet = page.get(sheet_url(room.year)).context["sheet"]
    (team,) = sheet.teams
    assert team.people == (("Leads", "Lena"), ("Teaches", "Olive"), ("Reads as a guest", "Guido"))
    (line,) = team.classrooms
    assert (line.teachers, line.room, line.enrolment, line.cap, line.over) == ("Olive", "12", 27, 25, 2)


def test_the_sheet_says_until_and_from_when_a_class_is_taught(page: Client, room: Classroom) -> None:
    teacher, following = make_teacher(room), make_teammate(room.team)
    today, day = room.year.school.today(), dt.timedelta(days=1)
    ClassTeacher.objects.filter(member=teacher).update(last_day=today + day)
    ClassTeacher.objects.create(classroom=room, member=following, first_day=today + 2 * day)
    ClassTeacher.objects.create(classroom=room, member=make_member("Gone"), last_day=today - day)
    told = page.get(sheet_url(room.year)).context["sheet"].teams[0].classrooms[0].teachers
    assert told.startswith("Olive until ") and ", Tamsin from " in told and "Gone" not in told


def test_a_lead_finds_the_verbs_of_their_own_team_alone(client: Client, room: Classroom) -> None:
    other = make_classroom(room.year, "room31", ("5",))
    client.force_login(make_teammate(room.team, "Lena", "lead"))
    shown = client.get(sheet_url(room.year)).text
    assert reverse("members:team-change", args=[room.team_id]) in shown
    assert reverse("members:team-change", args=[other.team_id]) not in shown
    assert reverse("members:team-add", args=[room.year_id]) not in shown
    # Nor a way to a week they may not read.
    assert reverse("scheduling:week", args=[room.pk]) in shown
    assert reverse("scheduling:week", args=[other.pk]) not in shown
    assert client.post(reverse("members:team-retire", args=[other.team_id])).status_code == 403


def test_an_empty_year_says_what_comes_first(page: Client, client: Client, year: SchoolYear) -> None:
    assert "Add the first team" in page.get(sheet_url(year)).text
    client.force_login(make_coordinator(year.school))
    shown = client.get(sheet_url(year)).text
    assert "No team yet" in shown and "Add the first team" not in shown


def test_somebody_who_left_is_no_longer_shown_on_the_team(page: Client, room: Classroom) -> None:
    gone = make_teammate(room.team, "Gunda")
    Member.objects.filter(pk=gone.pk).update(is_active=False)
    assert "Gunda" not in page.get(sheet_url(room.year)).text


def _queries(page: Client, path: str) -> int:
    page.get(path)
    with CaptureQueriesContext(connection) as caught:
        assert page.get(path).status_code == 200
    return len(caught)


def test_the_sheets_queries_do_not_grow_with_teams_people_and_classrooms(page: Client, year: SchoolYear) -> None:
    def grow(first: int, last: int) -> None:
        for number in range(first, last):
            room = make_classroom(year, f"room{number}", (str(number),))
            teacher = make_teacher(room, f"Teacher{number}")
            TeamRole.objects.filter(member=teacher).update(role="lead")
            make_classroom(year, f"other{number}", (str(number),))

    grow(0, 2)
    few = _queries(page, sheet_url(year))
    grow(2, 20)
    assert _queries(page, sheet_url(year)) == few
    assert few <= 14
