"""Who teaches a class, and when: co-teachers, dates, handing over; and what that lets them do."""

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.models import Week
from teamroom.common.errors import RuleBroken
from teamroom.members.models import Classroom, ClassTeacher, Member, Team, TeamRole
from teamroom.members.selectors.roles_held import roles_in_classroom
from teamroom.members.services import teaching
from tests.factories import (
    FIRST_DAY,
    LAST_DAY,
    add,
    make_classroom,
    make_member,
    make_teacher,
    make_teammate,
    make_week,
    make_year,
)

pytestmark = pytest.mark.django_db

DAY = dt.timedelta(days=1)
MIDDLE = dt.date(2026, 10, 5)


@pytest.fixture
def room(db: None) -> Classroom:
    return make_classroom(make_year())


@pytest.fixture
def teacher(room: Classroom) -> Member:
    return make_teacher(room)


@pytest.fixture
def colleague(room: Classroom) -> Member:
    return make_teammate(room.team)


@pytest.fixture
def lead(client: Client, room: Classroom) -> Client:
    client.force_login(make_teammate(room.team, "Lena", "lead"))
    return client


@pytest.fixture
def running(room: Classroom) -> Classroom:
    """The class in a year that holds today, as rights go by today at the school."""
    today = room.year.school.today()
    room.year.first_day, room.year.last_day = today - 60 * DAY, today + 60 * DAY
    room.year.save()
    return room


def taught(room: Classroom) -> list[tuple[str, dt.date | None, dt.date | None]]:
    rows = ClassTeacher.objects.filter(classroom=room).order_by("first_day", "pk")
    return [(row.member.name, row.first_day, row.last_day) for row in rows]


def held(room: Classroom, member: Member) -> ClassTeacher:
    return ClassTeacher.objects.get(classroom=room, member=member)


def test_a_class_is_handed_over_from_a_date(room: Classroom, teacher: Member, colleague: Member) -> None:
    teaching.hand_over(held(room, teacher), colleague, from_day=MIDDLE)
    assert sorted(taught(room)) == [("Olive", None, MIDDLE - DAY), ("Tamsin", MIDDLE, None)]


def test_who_takes_a_class_over_has_it_as_long_as_who_leaves_would_have(
    room: Classroom, teacher: Member, colleague: Member
) -> None:
    ClassTeacher.objects.filter(member=teacher).update(last_day=LAST_DAY - DAY)
    teaching.hand_over(held(room, teacher), colleague, from_day=MIDDLE)
    assert sorted(taught(room)) == [("Olive", None, MIDDLE - DAY), ("Tamsin", MIDDLE, LAST_DAY - DAY)]


@pytest.mark.parametrize(
    ("first", "last", "from_day", "said"),
    [
        (None, None, FIRST_DAY - DAY, "Choose a date from"),
        (None, None, LAST_DAY + DAY, "Choose a date from"),
        (MIDDLE, None, MIDDLE, "only from Mon 5 Oct: choose a later date"),
        (None, MIDDLE - DAY, MIDDLE, "until Sun 4 Oct"),
    ],
)
def test_a_handing_over_that_cannot_be_says_why_and_changes_nothing(
    room: Classroom,
    teacher: Member,
    colleague: Member,
    first: dt.date | None,
    last: dt.date | None,
    from_day: dt.date,
    said: str,
) -> None:
    ClassTeacher.objects.filter(member=teacher).update(first_day=first, last_day=last)
    with pytest.raises(RuleBroken, match=said):
        teaching.hand_over(held(room, teacher), colleague, from_day=from_day)
    assert taught(room) == [("Olive", first, last)]


def test_a_class_goes_only_to_somebody_of_its_team_who_is_still_there(room: Classroom, teacher: Member) -> None:
    stranger, gone = make_member("Stella"), make_teammate(room.team, "Gunda")
    Member.objects.filter(pk=gone.pk).update(is_active=False)
    gone.refresh_from_db()
    for member in (stranger, gone, teacher):
        with pytest.raises(RuleBroken):
            teaching.hand_over(held(room, teacher), member, from_day=MIDDLE)
    with pytest.raises(RuleBroken, match="Choose somebody of Grade 4"):
        teaching.put_on(room, stranger)
    assert taught(room) == [("Olive", None, None)]


def test_a_class_is_not_handed_to_who_teaches_it_already(room: Classroom, teacher: Member, colleague: Member) -> None:
    teaching.put_on(room, colleague)
    with pytest.raises(RuleBroken, match="Tamsin: They teach this class on some of these dates already"):
        teaching.hand_over(held(room, teacher), colleague, from_day=MIDDLE)
    held(room, teacher).refresh_from_db()
    assert sorted(taught(room)) == [("Olive", None, None), ("Tamsin", None, None)]


def test_nobody_is_put_on_a_retired_class(room: Classroom, colleague: Member) -> None:
    Classroom.objects.update(retired=True)
    with pytest.raises(RuleBroken, match="retired: bring it back"):
        teaching.put_on(room, colleague)


def test_taking_off_keeps_the_days_taught_unless_there_were_none(room: Classroom, teacher: Member) -> None:
    teaching.take_off(held(room, teacher), last_day=MIDDLE)
    assert taught(room) == [("Olive", None, MIDDLE)]
    ClassTeacher.objects.update(first_day=MIDDLE)
    with pytest.raises(RuleBroken, match="only from Mon 5 Oct"):
        teaching.take_off(held(room, teacher), last_day=MIDDLE - DAY)
    teaching.take_off(held(room, teacher), last_day=None)
    assert taught(room) == []


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(days=st.lists(st.integers(1, (LAST_DAY - FIRST_DAY).days), min_size=1, max_size=4))
def test_however_often_a_class_is_handed_on_each_day_has_one_teacher(room: Classroom, days: list[int]) -> None:
    """From the first teacher on, day by day."""
    people = [make_teammate(room.team, f"Person{Member.objects.count()}n{number}") for number in range(len(days) + 1)]
    ClassTeacher.objects.filter(classroom=room).delete()
    now = teaching.put_on(room, people[0])
    for following, day in zip(people[1:], sorted(days), strict=True):
        try:
            now = teaching.hand_over(now, following, from_day=FIRST_DAY + day * DAY)
        except RuleBroken:
            now.refresh_from_db()
    rows = ClassTeacher.objects.filter(classroom=room)
    for number in range((LAST_DAY - FIRST_DAY).days + 1):
        date = FIRST_DAY + number * DAY
        there = [r for r in rows if (r.first_day or date) <= date <= (r.last_day or date)]
        assert len(there) == 1


def may_edit(client: Client, member: Member, week: Week) -> int:
    client.force_login(member)
    return client.get(reverse("scheduling:block-add", args=[week.pk])).status_code


@pytest.mark.parametrize(("from_today", "old", "new"), [(1, 200, 403), (0, 403, 200), (-1, 403, 200)])
def test_the_week_is_changed_by_the_one_before_the_date_and_by_the_other_from_it_on(
    client: Client, running: Classroom, teacher: Member, colleague: Member, from_today: int, old: int, new: int
) -> None:
    week = make_week(running, running.year.first_day)
    teaching.hand_over(held(running, teacher), colleague, from_day=running.year.school.today() + from_today * DAY)
    assert (may_edit(client, teacher, week), may_edit(client, colleague, week)) == (old, new)


def test_who_had_only_the_class_is_a_stranger_once_it_is_handed_over(
    client: Client, running: Classroom, teacher: Member, colleague: Member
) -> None:
    week = make_week(running, running.year.first_day)
    add(week, teacher, ("mon", "08:00", "09:00", "math"))
    TeamRole.objects.filter(member=teacher).delete()
    assert may_edit(client, teacher, week) == 200
    teaching.hand_over(held(running, teacher), colleague, from_day=running.year.school.today())
    assert may_edit(client, teacher, week) == 404
    # What they did stays.
    change = week.changes.get()
    assert change.member == teacher


def test_a_guest_who_takes_a_class_over_changes_its_week_from_that_day(client: Client, running: Classroom) -> None:
    week, newcomer = make_week(running, running.year.first_day), make_teammate(running.team, "Nadia", "guest")
    assert may_edit(client, newcomer, week) == 403
    teaching.put_on(running, newcomer, first_day=running.year.school.today())
    assert may_edit(client, newcomer, week) == 200


def test_where_a_team_edits_together_its_teachers_change_each_others_weeks_and_its_guests_none(
    client: Client, room: Classroom, colleague: Member
) -> None:
    week, guest = make_week(room), make_teammate(room.team, "Guido", "guest")
    other_team = make_teacher(make_classroom(room.year, "room31", ("5",)), "Otto")
    assert may_edit(client, colleague, week) == 403
    Team.objects.filter(pk=room.team_id).update(edits_together=True)
    room.team.refresh_from_db()
    assert roles_in_classroom(colleague, room) == {"teacher, editing together"}
    told = [may_edit(client, member, week) for member in (colleague, guest, other_team)]
    assert told == [200, 403, 404]


def test_somebody_may_be_several_things_in_several_teams(room: Classroom, teacher: Member) -> None:
    other = make_classroom(room.year, "room31", ("5",))
    TeamRole.objects.create(team=other.team, member=teacher, role="guest")
    assert roles_in_classroom(teacher, room) == {"teacher", "own classroom"}
    assert roles_in_classroom(teacher, other) == {"guest"}


def test_a_class_is_handed_over_on_its_page(lead: Client, room: Classroom, teacher: Member, colleague: Member) -> None:
    url = reverse("members:class-hand-over", args=[held(room, teacher).pk])
    assert "keeps the class until the day before" in lead.get(url).text
    answer = lead.post(url, {"member": colleague.pk, "from_day": "2026-10-05"}, follow=True)
    assert "Tamsin has Room12 from Mon 5 Oct; Olive\N{RIGHT SINGLE QUOTATION MARK}s last day with it is Sun 4 Oct." in (
        answer.text.replace("&#x27;", "'")
    )
    lines = [(line.name, line.said) for line in answer.context["lines"]]
    assert sorted(lines) == [("Olive", "until Sun 4 Oct"), ("Tamsin", "from Mon 5 Oct")]


def test_dates_and_taking_off_have_pages_that_undo_a_handing_over(
    lead: Client, room: Classroom, teacher: Member, colleague: Member
) -> None:
    made = teaching.hand_over(held(room, teacher), colleague, from_day=MIDDLE)
    lead.post(reverse("members:class-teacher-take-off", args=[made.pk]), {"last_day": ""})
    lead.post(reverse("members:class-teacher-dates", args=[held(room, teacher).pk]), {"first_day": "", "last_day": ""})
    assert taught(room) == [("Olive", None, None)]


def test_a_refused_date_stands_at_its_field(lead: Client, room: Classroom, teacher: Member) -> None:
    url = reverse("members:class-teacher-dates", args=[held(room, teacher).pk])
    answer = lead.post(url, {"first_day": "2026-10-05", "last_day": "2026-10-01"})
    assert answer.status_code == 422
    assert answer.context["form"].errors == {"last_day": ["The last day comes before the first."]}
    assert 'value="2026-10-05"' in answer.text


def test_a_team_without_anybody_else_says_whom_to_bring_in_first(lead: Client, room: Classroom) -> None:
    TeamRole.objects.filter(team=room.team).exclude(role="lead").delete()
    own = teaching.put_on(room, TeamRole.objects.get(team=room.team).member)
    assert "Bring somebody into the team first" in lead.get(reverse("members:class-hand-over", args=[own.pk])).text
    assert lead.post(reverse("members:class-hand-over", args=[own.pk])).status_code == 422


def test_somebody_of_another_team_cannot_be_smuggled_in_by_id(lead: Client, room: Classroom) -> None:
    stranger = make_member("Stella")
    answer = lead.post(reverse("members:class-teacher-add", args=[room.pk]), {"member": stranger.pk})
    assert answer.status_code == 422
    assert not ClassTeacher.objects.exists()
