"""Classrooms of a year: made, changed, retired and brought back, removed; and published caps beside their form."""

from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from scheduling.models import BellSchedule, Reading
from scheduling.selectors.cap_suggestions import cap_suggestions
from scheduling.services import classrooms
from scheduling.services.classrooms import ClassroomToBe
from scheduling.services.compliance import recompute
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import School, SchoolYear
from teamroom.members.models import Classroom
from tests.factories import (
    add,
    make_classroom,
    make_coordinator,
    make_rule,
    make_teacher,
    make_week,
    make_year,
)

pytestmark = pytest.mark.django_db

VERBS = ("change", "retire", "bring-back", "remove")


@pytest.fixture
def year(db: None) -> SchoolYear:
    return make_year()


@pytest.fixture
def room(year: SchoolYear) -> Classroom:
    return make_classroom(year)


@pytest.fixture
def planned(room: Classroom) -> Classroom:
    """A class of grade 4 with 120 minutes of mathematics, which grades 4 and 5 ask for differently."""
    for bell in list(room.year.bell_schedules.filter(grade="4")):
        BellSchedule.objects.create(
            year=room.year, grade="5", kind=bell.kind, start=bell.start, dismissal=bell.dismissal
        )
    add(make_week(room), make_teacher(room), ("mon", "08:00", "09:00", "math"), ("tue", "08:00", "09:00", "math"))
    make_rule(room.year, "math_4", {"pool": {"of": ["math"]}, "at_least": 120}, ("4",))
    make_rule(room.year, "math_5", {"pool": {"of": ["math"]}, "at_least": 300}, ("5",))
    return room


@pytest.fixture
def page(client: Client, year: SchoolYear) -> Client:
    client.force_login(make_coordinator(year.school, "Ada", "administrator"))
    return client


def of(room: Classroom, name: str = "", /, **other: Any) -> ClassroomToBe:
    """The classroom as it is, but for what is said."""
    values: dict[str, Any] = {
        "grades": room.grades,
        "room": room.room,
        "enrolment": room.enrolment,
        "cap": room.cap,
        **other,
    }
    return ClassroomToBe(room.team, name or room.name, **values)


def rows() -> list[tuple[object, ...]]:
    return list(Reading.objects.order_by("pk").values_list("pk", "rule__key", "grade", "status", "planned", "required"))


def by_rule(room: Classroom) -> dict[tuple[str, str], tuple[str, object, object]]:
    found = Reading.objects.filter(classroom=room, part=0).select_related("rule")
    return {(row.rule.key, row.grade): (row.status, row.planned, row.required) for row in found}


def from_scratch_changes_nothing(year: SchoolYear) -> bool:
    with transaction.atomic():
        return not recompute(SchoolYear.objects.get(pk=year.pk), from_scratch=True)


def url(verb: str, pk: int) -> str:
    return reverse(f"scheduling:classroom-{verb}", args=[pk])


def typed(room: Classroom, /, **other: object) -> dict[str, object]:
    return {"name": room.name, "grades": ", ".join(room.grades), "team": room.team_id, "room": "", **other}


# Services


def test_a_new_classroom_gets_a_key_from_its_name_which_stays_when_it_is_renamed(room: Classroom) -> None:
    first = classrooms.make_classroom(of(room, "Room 31"))
    classrooms.change_classroom(first, of(room, "Room 32"))
    second = classrooms.make_classroom(of(room, "Room 31"))
    plain = classrooms.make_classroom(of(room, "\N{CJK UNIFIED IDEOGRAPH-4E94}"))
    assert (first.key, second.key, plain.key) == ("room-31", "room-31-2", "classroom")


def test_a_new_classroom_has_the_readings_of_its_grades_at_once(planned: Classroom) -> None:
    made = classrooms.make_classroom(of(planned, "Room 31", grades=["4", "5"]))
    assert set(by_rule(made)) == {("math_4", "4"), ("math_5", "5")}
    assert from_scratch_changes_nothing(planned.year)


@pytest.mark.parametrize("grades", [["5"], ["4", "5"], ["5", "4"]])
def test_other_grades_count_a_class_anew_as_from_scratch_would(planned: Classroom, grades: list[str]) -> None:
    before = SchoolYear.objects.get(pk=planned.year_id).revision
    assert set(by_rule(planned)) == {("math_4", "4")}
    assert classrooms.change_classroom(planned, of(planned, grades=grades))
    assert set(by_rule(planned)) == {(f"math_{grade}", grade) for grade in grades}
    assert by_rule(planned)["math_5", "5"] == ("short", 120, 300)
    assert SchoolYear.objects.get(pk=planned.year_id).revision != before
    assert from_scratch_changes_nothing(planned.year)


def test_another_name_room_or_head_count_changes_no_reading(planned: Classroom) -> None:
    before, revision = rows(), SchoolYear.objects.get(pk=planned.year_id).revision
    assert before
    assert not classrooms.change_classroom(planned, of(planned, "Room 99", room="B 2", enrolment=24, cap=25))
    planned.refresh_from_db()
    assert (planned.name, planned.room, planned.enrolment, planned.cap) == ("Room 99", "B 2", 24, 25)
    assert rows() == before
    assert SchoolYear.objects.get(pk=planned.year_id).revision == revision


def test_two_classrooms_of_a_year_do_not_share_a_name(room: Classroom) -> None:
    with pytest.raises(RuleBroken, match="classroom of Grade 4 already: choose another name"):
        classrooms.make_classroom(of(room, room.name.upper()))
    classrooms.retire_classroom(room)
    with pytest.raises(RuleBroken, match="is retired: bring it back"):
        classrooms.make_classroom(of(room))
    classrooms.make_classroom(of(make_classroom(make_year("Elsewhere"), "other"), room.name))


def test_removal_is_refused_once_a_class_had_a_week(planned: Classroom) -> None:
    with pytest.raises(RuleBroken, match="has a week: retire it instead"):
        classrooms.remove_classroom(planned)
    spare = make_classroom(planned.year, "spare")
    classrooms.remove_classroom(spare)
    assert list(Classroom.objects.all()) == [planned]


def test_a_classroom_of_a_retired_team_comes_back_with_its_team_alone(room: Classroom) -> None:
    classrooms.retire_classroom(room)
    room.team.retired = True
    room.team.save()
    with pytest.raises(RuleBroken, match="bring the team back first"):
        classrooms.bring_classroom_back(room)
    assert Classroom.objects.get().retired


# Pages


def test_a_classroom_is_added_by_its_page(page: Client, room: Classroom) -> None:
    data = typed(room, name="Room 31", grades="4, 5", room="B 2", enrolment="24", cap="25")
    answer = page.post(url("add", room.team_id), data, follow=True)
    made = Classroom.objects.get(key="room-31")
    assert (made.grades, made.room, made.enrolment, made.cap) == (["4", "5"], "B 2", 24, 25)
    assert "Room 31 is there. Give it a teacher" in answer.text


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"name": ""}, "Give the classroom a name"),
        ({"name": "room12"}, "is a classroom of Grade 4 already"),
        ({"grades": ""}, "Name the class"),
        ({"grades": "fith"}, "\N{LEFT DOUBLE QUOTATION MARK}fith"),
        ({"cap": "0"}, "id_cap"),
    ],
)
def test_a_refused_classroom_says_what_to_do_and_keeps_what_was_typed(
    page: Client, room: Classroom, wrong: dict[str, str], said: str
) -> None:
    answer = page.post(url("add", room.team_id), typed(room, **{"name": "Room 31", "room": "Annex", **wrong}))
    assert answer.status_code == 422
    assert set(answer.context["form"].errors) == set(wrong)
    assert said in answer.text
    assert 'value="Annex"' in answer.text
    assert Classroom.objects.count() == 1


def test_the_page_says_that_minutes_are_counted_anew_when_grades_change(page: Client, planned: Classroom) -> None:
    told = page.post(url("change", planned.pk), typed(planned, grades="5"), follow=True).text
    assert "Its minutes are counted anew." in told
    told = page.post(url("change", planned.pk), typed(planned, grades="5", name="Room 99"), follow=True).text
    assert "Room 99 is saved." in told
    assert "counted anew" not in told


def test_a_retired_classroom_leaves_the_home_page_and_its_week_stays_readable(page: Client, planned: Classroom) -> None:
    week = reverse("scheduling:week", args=[planned.pk])
    assert week in page.get("/").text
    told = page.post(url("retire", planned.pk), follow=True).text
    assert "Its weeks stay readable" in told
    assert "Retired classrooms (1)" in told
    assert week not in page.get("/").text
    assert "Math" in page.get(week).text
    assert "Room12 is back." in page.post(url("bring-back", planned.pk), follow=True).text
    assert week in page.get("/").text


def test_readings_of_a_retired_class_stay_current(planned: Classroom) -> None:
    classrooms.retire_classroom(planned)
    make_rule(planned.year, "more", {"pool": {"of": ["math"]}, "at_least": 60})
    assert ("more", "4") in by_rule(planned)
    assert from_scratch_changes_nothing(planned.year)


def test_the_page_of_removal_says_why_it_cannot_be_and_removes_nothing(page: Client, planned: Classroom) -> None:
    assert "has a week: retire it instead" in page.get(url("remove", planned.pk)).text
    answer = page.post(url("remove", planned.pk))
    assert answer.status_code == 422
    assert "has a week: retire it instead" in answer.text
    assert Classroom.objects.filter(pk=planned.pk).exists()


def test_a_class_without_a_week_is_removed_after_a_page_that_says_what_goes(page: Client, room: Classroom) -> None:
    assert "It never had a week." in page.get(url("remove", room.pk)).text
    assert Classroom.objects.exists()
    assert "Room12 is removed." in page.post(url("remove", room.pk), follow=True).text
    assert not Classroom.objects.exists()


def test_pupils_above_the_cap_are_a_caution_and_not_refused(page: Client, room: Classroom) -> None:
    told = page.post(url("change", room.pk), typed(room, enrolment="27", cap="25"), follow=True)
    room.refresh_from_db()
    assert (told.status_code, room.enrolment, room.cap) == (200, 27, 25)
    assert "27 pupils are 2 above its cap of 25: ask the office" in told.text
    assert '<p class="caution">27 pupils are 2 above' in page.get(url("change", room.pk)).text
    told = page.post(url("change", room.pk), typed(room, enrolment="25", cap="25"), follow=True)
    assert "above its cap" not in told.text


def test_another_schools_classrooms_and_teams_are_not_there(page: Client, room: Classroom) -> None:
    other = make_classroom(make_year("Elsewhere"))
    assert [page.post(url(verb, other.pk)).status_code for verb in VERBS] == [404] * 4
    assert [page.post(url(verb, 10**6)).status_code for verb in VERBS] == [404] * 4
    assert page.get(url("add", other.team_id)).status_code == 404
    assert page.get(reverse("scheduling:cap-suggestions", args=[other.year_id])).status_code == 404
    # Nor can a class be moved into a team of theirs.
    answer = page.post(url("change", room.pk), typed(room, team=other.team_id))
    assert (answer.status_code, set(answer.context["form"].errors)) == (422, {"team"})
    other.refresh_from_db()
    assert not other.retired


# Caps


@pytest.fixture
def california(year: SchoolYear) -> School:
    year.school.place = "US-CA"
    year.school.save()
    return year.school


@pytest.mark.parametrize(
    ("grades", "caps", "said", "source"),
    [
        # California Department of Education, CalEdFacts, Class Size Penalties (Education Code 41376 and 41378):
        # kindergarten, no class larger than 33; grades 1 to 3, no class larger than 32; grades 4 to 8, on
        # average 29.9 pupils to a teacher or the district's own figure of 1964, which bounds no single class.
        (["K"], [33], "At most 33 in one class", "California Education Code 41378"),
        (["2"], [32], "At most 32 in one class", "California Education Code 41376"),
        # A class that mixes them is shown both, the smaller first: our own reading, no source.
        (["K", "1"], [32, 33], "At most 32 in one class", "California Education Code 41376"),
        (["4"], [], "29.9 on average over the district", "California Education Code 41376"),
    ],
)
def test_published_caps_of_california(
    california: School, grades: list[str], caps: list[int], said: str, source: str
) -> None:
    lines = cap_suggestions(california, grades).lines
    assert [line.cap for line in lines if line.cap is not None] == caps
    assert (lines[0].said, lines[0].source) == (said, source)
    assert all(line.source and line.read for line in lines)


def test_the_form_shows_published_caps_with_their_source_and_takes_one(
    page: Client, california: School, room: Classroom
) -> None:
    Classroom.objects.filter(pk=room.pk).update(grades=["2"])
    shown = page.get(url("change", room.pk)).text
    assert "At most 32 in one class" in shown
    assert "California Education Code 41376" in shown
    assert "Your agreement, waivers and the official text come first." in shown
    taken = page.post(url("change", room.pk), typed(room, grades="2", name="Room 99", take_cap="32"))
    assert taken.status_code == 200
    assert 'value="32"' in taken.text and 'value="Room 99"' in taken.text
    room.refresh_from_db()
    assert (room.cap, room.name) == (None, "Room12")


def test_caps_of_grades_just_typed_are_asked_for_beside_the_form(page: Client, california: School) -> None:
    found = reverse("scheduling:cap-suggestions", args=[california.years.get().pk])
    assert "At most 33 in one class" in page.get(found, {"grades": "K"}, headers={"HX-Request": "true"}).text
    assert "At most 33" not in page.get(found, {"grades": "4"}).text
    for nothing in ("", "fith", "4" * 5000):
        answer = page.get(found, {"grades": nothing})
        assert answer.status_code == 200
        assert "Type the class" in answer.text


def test_a_school_whose_place_nobody_said_is_told_so(page: Client, room: Classroom) -> None:
    assert "Nobody has said yet in which state the school is." in page.get(url("change", room.pk)).text


def test_a_teacher_who_leads_nothing_changes_no_class(client: Client, room: Classroom) -> None:
    client.force_login(make_teacher(room))
    assert [client.post(url(verb, room.pk)).status_code for verb in VERBS] == [403] * 4
    assert not Classroom.objects.get().retired


def test_the_state_is_called_by_its_name(page: Client, california: School, room: Classroom) -> None:
    found = reverse("scheduling:cap-suggestions", args=[room.year_id])
    for grades in ("", "Robins"):
        shown = page.get(found, {"grades": grades}).text
        assert "in California" in shown and "US-CA" not in shown


@pytest.mark.parametrize(("grades", "begun"), [(["4"], "4"), (["4", "5"], None)])
def test_a_new_classroom_begins_with_the_grade_of_a_team_of_one_grade(
    page: Client, room: Classroom, grades: list[str], begun: str | None
) -> None:
    room.team.grades = grades
    room.team.save()
    assert page.get(url("add", room.team_id)).context["form"]["grades"].value() == begun
