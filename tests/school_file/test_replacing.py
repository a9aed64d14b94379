"""Loading over a year that is there: people keep their places, the rest is replaced, and nothing is lost."""

import json
from pathlib import Path
from typing import Any

import pytest
from django.db import IntegrityError

from scheduling.models import Block, DayChangeReach, Reading, Rule, SpecialistPost, Week
from scheduling.services.compliance import recompute
from teamroom.dates.models import School, SchoolYear
from teamroom.members.models import Classroom, Team
from teamroom.school_file import loading
from teamroom.school_file.checking import sound_document
from tests.factories import make_coordinator, make_teacher, make_teammate
from tests.school_file.files import WITHOUT, changed, dump, load, whole

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def data_folder(tmp_path: Path, settings: Any) -> Path:
    settings.DATA_DIR = tmp_path / "data"
    return tmp_path / "data"


def kept_copies(data_folder: Path) -> list[Path]:
    return sorted((data_folder / "replaced").glob("*.json"))


def test_members_keep_their_school_team_and_classroom(tmp_path: Path) -> None:
    load(tmp_path, whole())
    school, room = School.objects.get(), Classroom.objects.get(key="room12")
    teacher, coordinator = make_teacher(room), make_coordinator(school)
    load(
        tmp_path,
        changed(
            whole(), {"classrooms[0].room": "7", "classrooms[0].team": "grade5", "school.time_zone": "Europe/Paris"}
        ),
    )
    school.refresh_from_db()
    room.refresh_from_db()
    assert (school.time_zone, room.room, room.team.key) == ("Europe/Paris", "7", "grade5")
    assert list(room.teachers.all()) == [teacher]
    assert teacher.team_roles.get().team.key == "grade4"
    assert coordinator.school_roles.get().school == school


def test_teams_and_classrooms_the_file_does_not_name_are_removed(tmp_path: Path) -> None:
    load(tmp_path, whole())
    make_teammate(Team.objects.get(key="grade5"))
    smaller = changed(
        whole(), {"teams[1]": WITHOUT, "classrooms[1]": WITHOUT, "weeks[2]": WITHOUT, "day_changes[0].teams": []}
    )
    load(tmp_path, smaller)
    assert [team.key for team in Team.objects.all()] == ["grade4", "grade6"]
    assert [room.key for room in Classroom.objects.all()] == ["room12", "room16"]
    assert json.loads(dump()) == {**smaller, "day_changes": json.loads(dump())["day_changes"]}


def test_the_year_as_it_was_is_kept_in_a_file_that_loads_again(tmp_path: Path, data_folder: Path) -> None:
    assert "kept in" not in load(tmp_path, whole())
    before = dump()
    out = load(tmp_path, changed(whole(), {"rules": WITHOUT}))
    (copy,) = kept_copies(data_folder)
    assert str(copy) in out
    assert copy.name.startswith("fernhollow-elementary-2026-27-")
    assert copy.read_text(encoding="utf-8") == before
    assert not Rule.objects.exists()
    load(tmp_path, json.loads(before))
    assert dump() == before
    assert len(kept_copies(data_folder)) == 2


def test_checking_a_file_of_a_year_that_is_there_keeps_no_copy(tmp_path: Path, data_folder: Path) -> None:
    load(tmp_path, whole())
    sound_document(whole())
    assert kept_copies(data_folder) == []


def test_what_a_file_says_of_teams_classrooms_and_the_school_is_kept_and_comes_out_again(tmp_path: Path) -> None:
    load(tmp_path, whole())
    year = SchoolYear.objects.select_related("school").get()
    assert (year.school.place, year.required_days) == ("US-IL", 176)
    assert Team.objects.get(key="grade5").edits_together and Team.objects.get(key="grade6").retired
    assert Classroom.objects.get(key="room16").retired
    load(tmp_path, changed(whole(), {"teams[2].retired": WITHOUT, "classrooms[2].retired": WITHOUT}))
    assert not Team.objects.filter(retired=True).exists()
    assert not Classroom.objects.filter(retired=True).exists()


def test_a_file_that_does_not_say_where_the_school_is_leaves_it_where_it_is(tmp_path: Path) -> None:
    load(tmp_path, whole())
    load(tmp_path, changed(whole(), {"school.place": WITHOUT, "year.required_days": WITHOUT}))
    year = SchoolYear.objects.select_related("school").get()
    assert (year.school.place, year.required_days, year.required_days_source) == ("US-IL", None, "")


def test_specialists_keep_their_posts_where_what_they_teach_is_left(tmp_path: Path) -> None:
    load(tmp_path, whole())
    year, room = SchoolYear.objects.get(), Classroom.objects.get(key="room14")
    specialist = make_teammate(room.team, "Stella", "guest")
    for key, rooms in (("pe", []), ("math", [room]), ("science", [])):
        post = SpecialistPost.objects.create(year=year, member=specialist, activity=year.activities.get(key=key))
        post.classrooms.set(rooms)
    load(tmp_path, whole())
    told = SpecialistPost.objects.order_by("pk").values_list("activity__key", "classrooms__key")
    assert list(told) == [("pe", None), ("math", "room14"), ("science", None)]
    without_room = {"classrooms[1]": WITHOUT, "weeks[2]": WITHOUT}
    load(tmp_path, changed(whole(), {**without_room, "activities[5]": {"key": "lunch", "name": "Midday"}}))
    # Left without the one class it named, the post in math goes: it would reach all the school.
    assert list(SpecialistPost.objects.order_by("pk").values_list("activity__key", flat=True)) == ["pe", "science"]


def test_another_year_of_the_same_school_is_added(tmp_path: Path) -> None:
    load(tmp_path, whole())
    load(tmp_path, changed(whole(), {"year.name": "2027-28"}))
    assert School.objects.count() == 1
    assert [year.name for year in SchoolYear.objects.order_by("pk")] == ["2026-27", "2027-28"]
    assert Week.objects.count() == 10


def test_the_revision_is_new_after_each_loading(tmp_path: Path) -> None:
    load(tmp_path, whole())
    before = SchoolYear.objects.get().revision
    load(tmp_path, whole())
    assert SchoolYear.objects.get().revision != before


def test_the_readings_are_those_of_a_computation_from_scratch(tmp_path: Path) -> None:
    load(tmp_path, whole())
    load(tmp_path, changed(whole(), {"weeks[0].columns[0].blocks[2].end": "13:20"}))
    assert Reading.objects.exists()
    assert not recompute(SchoolYear.objects.get(), from_scratch=True)


def test_a_change_for_classrooms_and_teams_reaches_both_and_one_for_neither_the_school(tmp_path: Path) -> None:
    load(tmp_path, whole())
    found = DayChangeReach.objects.values_list("day_change__name", "classroom__key").order_by("day_change", "classroom")
    both, school = ("room12", "room14"), ("room12", "room14", "room16")
    reached = {"Science visit": both, "Boiler": school, "Assembly": school}
    assert list(found) == [(name, room) for name, rooms in reached.items() for room in rooms]


def test_a_loading_that_fails_halfway_leaves_everything_as_it_was(tmp_path: Path, settings: Any) -> None:
    load(tmp_path, whole())
    before, blocks = dump(), Block.objects.count()
    unchecked = changed(whole(), {"weeks[0].columns[0].blocks[1].start": "09:00"})
    with pytest.raises(IntegrityError):
        loading.load(unchecked)
    assert (dump(), Block.objects.count()) == (before, blocks)


def test_queries_do_not_grow_with_classrooms(tmp_path: Path, django_assert_max_num_queries: Any) -> None:
    school = whole()
    for n in range(60):
        school["classrooms"].append({"key": f"more{n}", "team": "grade4", "grades": ["4"]})
        school["weeks"].append({**school["weeks"][0], "classroom": f"more{n}"})
    for most in (66, 150):
        with django_assert_max_num_queries(most):
            load(tmp_path, school)
