"""Specialists: posts given, changed and ended, and the week each has across classrooms."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.models import Activity, SpecialistPost
from scheduling.selectors.specialist_week import OwnWeek, own_week
from scheduling.selectors.specialists import posts_in
from scheduling.services import specialists
from scheduling.services.specialists import PostToBe
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, Member, Team, TeamRole
from tests.factories import (
    FIRST_DAY,
    add,
    make_classroom,
    make_coordinator,
    make_member,
    make_teacher,
    make_teammate,
    make_week,
    make_year,
)

pytestmark = pytest.mark.django_db

Placed = tuple[str, str, str, str]


@pytest.fixture
def year(db: None) -> SchoolYear:
    return make_year()


@pytest.fixture
def art(year: SchoolYear) -> Activity:
    return year.activities.get(key="art")


@pytest.fixture
def rooms(year: SchoolYear) -> list[Classroom]:
    """One of grade 4 and one of grade 5."""
    return [make_classroom(year), make_classroom(year, "room31", ("5",))]


@pytest.fixture
def theo(year: SchoolYear) -> Member:
    """Somebody of the school who is nothing to any team yet."""
    return make_coordinator(year.school, "Theo", "coordinator")


@pytest.fixture
def page(client: Client, year: SchoolYear) -> Client:
    client.force_login(make_coordinator(year.school, "Ada", "administrator"))
    return client


def plan(room: Classroom, teacher: str, *placed: Placed) -> None:
    add(make_week(room), make_teacher(room, teacher), *placed)


def week_of(member: Member, year: SchoolYear) -> OwnWeek:
    return own_week(year, list(posts_in(year, member)), FIRST_DAY)


def with_classes(week: OwnWeek) -> dict[str, list[tuple[str, str]]]:
    """By day the classes met, each as times and name."""
    days = [day for strip in week.strips for day in strip.days]
    return {day.title: met for day in days if (met := [(line.times, line.name) for line in day.lines if line.pk])}


def give_url(year: SchoolYear) -> str:
    return reverse("scheduling:specialist-give", args=[year.pk])


def week_url(year: SchoolYear, member: Member) -> str:
    return reverse("scheduling:specialist-week", args=[year.pk, member.pk]) + f"?on={FIRST_DAY}"


def held(member: Member) -> dict[str, str]:
    return dict(member.team_roles.values_list("team__name", "role"))


# Posts


def test_a_post_makes_somebody_a_guest_where_they_had_no_role(
    year: SchoolYear, rooms: list[Classroom], art: Activity, theo: Member
) -> None:
    _, fresh = specialists.give_post(year, theo, PostToBe(art))
    assert [team.name for team in fresh] == ["Grade 4", "Grade 5"]
    assert held(theo) == {"Grade 4": "guest", "Grade 5": "guest"}


@pytest.mark.parametrize("role", ["teacher", "lead", "guest"])
def test_a_post_lowers_no_role(year: SchoolYear, rooms: list[Classroom], art: Activity, role: str) -> None:
    member = make_teammate(rooms[0].team, "Tamsin", role)
    _, fresh = specialists.give_post(year, member, PostToBe(art, [rooms[0].team], [rooms[1]]))
    assert fresh == [rooms[1].team]
    assert held(member) == {"Grade 4": role, "Grade 5": "guest"}


def test_a_post_for_some_reaches_their_teams_alone_and_no_retired_one(
    year: SchoolYear, rooms: list[Classroom], art: Activity, theo: Member
) -> None:
    post, _ = specialists.give_post(year, theo, PostToBe(art, classrooms=[rooms[0]]))
    assert held(theo) == {"Grade 4": "guest"}
    Team.objects.filter(pk=rooms[1].team_id).update(retired=True)
    assert specialists.change_post(post, PostToBe(art)) == []
    assert held(theo) == {"Grade 4": "guest"}


def test_somebody_has_one_post_an_activity(
    year: SchoolYear, rooms: list[Classroom], art: Activity, theo: Member
) -> None:
    specialists.give_post(year, theo, PostToBe(art, [rooms[0].team]))
    other, _ = specialists.give_post(year, theo, PostToBe(year.activities.get(key="pe")))
    with pytest.raises(RuleBroken, match="Theo teaches Art already: change that post instead"):
        specialists.give_post(year, theo, PostToBe(art, [rooms[1].team]))
    with pytest.raises(RuleBroken, match="Theo teaches Art already"):
        specialists.change_post(other, PostToBe(art))
    assert SpecialistPost.objects.filter(activity=art).count() == 1


def test_ending_a_post_keeps_the_roles(year: SchoolYear, rooms: list[Classroom], art: Activity, theo: Member) -> None:
    post, _ = specialists.give_post(year, theo, PostToBe(art))
    specialists.end_post(post)
    assert not SpecialistPost.objects.exists()
    assert held(theo) == {"Grade 4": "guest", "Grade 5": "guest"}


# Pages of posts


def test_a_post_is_given_changed_and_ended_by_its_pages(
    page: Client, year: SchoolYear, rooms: list[Classroom], art: Activity, theo: Member
) -> None:
    assert "Give the first post" in page.get(reverse("scheduling:specialists", args=[year.pk])).text
    data = {"member": theo.pk, "activity": art.pk, "reach": "school"}
    told = page.post(give_url(year), data, follow=True).text
    assert "Theo teaches Art to all the school." in told
    assert "Theo is now a guest of Grade 4 and Grade 5, and may read the weeks there." in told
    post = SpecialistPost.objects.get()
    data = {"activity": art.pk, "reach": "some", "classrooms": [rooms[1].pk]}
    told = page.post(reverse("scheduling:specialist-change", args=[post.pk]), data, follow=True).text
    assert "Theo teaches Art to Room31." in told
    assert "Art, to Room31" in told
    end = reverse("scheduling:specialist-end", args=[post.pk])
    assert "Theo" in page.get(end).text
    assert SpecialistPost.objects.exists()
    assert "Theo no longer teaches Art across classrooms." in page.post(end, follow=True).text
    assert held(theo) == {"Grade 4": "guest", "Grade 5": "guest"}


def test_a_second_post_for_the_same_activity_is_refused_in_words_at_the_field(
    page: Client, year: SchoolYear, art: Activity, theo: Member
) -> None:
    specialists.give_post(year, theo, PostToBe(art))
    answer = page.post(give_url(year), {"member": theo.pk, "activity": art.pk, "reach": "school"})
    assert answer.status_code == 422
    assert answer.context["form"].errors["activity"] == ["Theo teaches Art already: change that post instead."]
    assert "Theo teaches Art already: change that post instead." in answer.text


def test_some_classes_without_any_ticked_are_refused(
    page: Client, year: SchoolYear, art: Activity, theo: Member
) -> None:
    answer = page.post(give_url(year), {"member": theo.pk, "activity": art.pk, "reach": "some"})
    assert answer.status_code == 422
    assert "Tick the teams or classrooms they teach, or choose all the school." in answer.text
    assert not SpecialistPost.objects.exists()


def test_nothing_and_nobody_of_another_school_can_be_chosen(
    page: Client, year: SchoolYear, art: Activity, theo: Member
) -> None:
    elsewhere = make_year("Elsewhere")
    room, stranger = make_classroom(elsewhere, "theirs"), make_coordinator(elsewhere.school, "Sten")
    good = {"member": theo.pk, "activity": art.pk, "reach": "some"}
    for name, pk in {
        "member": stranger.pk,
        "activity": elsewhere.activities.get(key="art").pk,
        "teams": room.team_id,
        "classrooms": room.pk,
    }.items():
        answer = page.post(give_url(year), {**good, name: pk})
        assert (answer.status_code, name in answer.context["form"].errors) == (422, True)
    assert not SpecialistPost.objects.exists()


# Weeks


def test_a_week_shows_only_stretches_of_the_posts_activities(
    page: Client, year: SchoolYear, rooms: list[Classroom], art: Activity, theo: Member
) -> None:
    plan(rooms[0], "Olive", ("mon", "08:00", "09:00", "math"), ("mon", "09:00", "09:40", "art"))
    plan(rooms[1], "Perry", ("tue", "10:00", "10:45", "art"), ("tue", "11:00", "11:30", "pe"))
    specialists.give_post(year, theo, PostToBe(art))
    week = week_of(theo, year)
    assert with_classes(week) == {
        "Monday": [("9:00\N{EN DASH}9:40", "Room12")],
        "Tuesday": [("10:00\N{EN DASH}10:45", "Room31")],
    }
    assert week.strips[0].minutes == 85
    assert week.clashes == ()
    shown = page.get(week_url(year, theo)).text
    assert "Art to all the school, in 2 classrooms" in shown
    assert "No two classes at once" in shown
    assert "Math" not in shown.split("<main")[1]


def test_a_week_holds_the_classes_of_the_post_alone(
    year: SchoolYear, rooms: list[Classroom], art: Activity, theo: Member
) -> None:
    for room, teacher in zip(rooms, ("Olive", "Perry"), strict=True):
        plan(room, teacher, ("mon", "09:00", "09:40", "art"))
    specialists.give_post(year, theo, PostToBe(art, [rooms[1].team]))
    assert with_classes(week_of(theo, year)) == {"Monday": [("9:00\N{EN DASH}9:40", "Room31")]}


def test_two_classrooms_at_once_are_named_with_whom_to_talk_to(
    page: Client, year: SchoolYear, rooms: list[Classroom], art: Activity, theo: Member
) -> None:
    plan(rooms[0], "Olive", ("mon", "09:00", "09:40", "art"), ("wed", "09:00", "09:40", "art"))
    plan(rooms[1], "Perry", ("mon", "09:20", "10:00", "art"), ("wed", "09:40", "10:20", "art"))
    specialists.give_post(year, theo, PostToBe(art))
    (clash,) = week_of(theo, year).clashes
    assert (clash.days, clash.times, clash.length) == ("Monday", "9:20\N{EN DASH}9:40", 20)
    shown = page.get(week_url(year, theo)).text
    assert "Classes at once, once" in shown
    assert "Room12 (9:00\N{EN DASH}9:40) and Room31 (9:20\N{EN DASH}10:00)" in shown
    assert "talk to Olive and Perry" in shown
    # Minutes that two classes have at once count once: 60 on Monday, 80 on Wednesday.
    assert week_of(theo, year).strips[0].minutes == 140


def test_retired_classes_are_in_nobodys_week(
    year: SchoolYear, rooms: list[Classroom], art: Activity, theo: Member
) -> None:
    plan(rooms[0], "Olive", ("mon", "09:00", "09:40", "art"))
    specialists.give_post(year, theo, PostToBe(art))
    Classroom.objects.filter(pk=rooms[0].pk).update(retired=True)
    assert week_of(theo, year).is_empty


def test_a_week_in_which_nothing_is_planned_says_what_comes_next(
    page: Client, year: SchoolYear, rooms: list[Classroom], art: Activity, theo: Member
) -> None:
    specialists.give_post(year, theo, PostToBe(art))
    shown = page.get(week_url(year, theo)).text
    assert "Nothing is planned yet" in shown
    assert "Without a week on that date: Room12, Room31." in shown


def test_a_specialist_reads_their_own_week_and_not_anothers(
    client: Client, year: SchoolYear, rooms: list[Classroom], art: Activity
) -> None:
    own, other = make_teammate(rooms[0].team, "Petra"), make_teammate(rooms[0].team, "Quinn")
    for member in (own, other):
        specialists.give_post(year, member, PostToBe(art))
    client.force_login(own)
    assert "Your week" in client.get(week_url(year, own)).text
    assert client.get(week_url(year, other)).status_code == 403


def test_a_specialist_of_another_school_is_not_there(
    page: Client, client: Client, year: SchoolYear, art: Activity, theo: Member
) -> None:
    elsewhere = make_year("Elsewhere")
    make_classroom(elsewhere)
    sten = make_coordinator(elsewhere.school, "Sten", "coordinator")
    post, _ = specialists.give_post(elsewhere, sten, PostToBe(elsewhere.activities.get(key="art")))
    specialists.give_post(year, theo, PostToBe(art))
    assert page.get(week_url(year, theo)).status_code == 200
    # Neither in this year, where they have no post, nor in theirs, nor this school's in that year.
    assert page.get(week_url(year, sten)).status_code == 404
    assert page.get(week_url(elsewhere, sten)).status_code == 404
    assert page.get(week_url(elsewhere, theo)).status_code == 404
    for verb in ("change", "end"):
        assert page.post(reverse(f"scheduling:specialist-{verb}", args=[post.pk])).status_code == 404
    assert SpecialistPost.objects.filter(pk=post.pk).exists()
    client.force_login(make_member("Nobody"))
    assert client.get(week_url(year, theo)).status_code == 404


def _queries(page: Client, path: str) -> int:
    page.get(path)
    with CaptureQueriesContext(connection) as caught:
        assert page.get(path).status_code == 200
    return len(caught)


def test_the_weeks_queries_do_not_grow_with_classrooms(
    page: Client, year: SchoolYear, art: Activity, theo: Member
) -> None:
    def grow(first: int, last: int) -> None:
        for number in range(first, last):
            plan(make_classroom(year, f"room{number}"), f"Teacher{number}", ("mon", "09:00", "09:40", "art"))

    grow(0, 2)
    specialists.give_post(year, theo, PostToBe(art))
    few = _queries(page, week_url(year, theo))
    assert week_of(theo, year).classes == 2
    grow(2, 20)
    assert week_of(theo, year).classes == 20
    assert _queries(page, week_url(year, theo)) == few


def test_the_sheets_queries_do_not_grow_with_specialists(page: Client, year: SchoolYear, art: Activity) -> None:
    room = make_classroom(year)

    def grow(first: int, last: int) -> None:
        for number in range(first, last):
            member = make_member(f"Member{number}")
            specialists.give_post(year, member, PostToBe(art, [room.team], [room]))

    path = reverse("scheduling:specialists", args=[year.pk])
    grow(0, 2)
    few = _queries(page, path)
    grow(2, 20)
    assert TeamRole.objects.filter(role="guest").count() == 20
    assert _queries(page, path) == few
