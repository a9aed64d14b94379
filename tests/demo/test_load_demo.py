"""Putting the demo school into an installation."""

import json
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction

from scheduling.models import Reading
from scheduling.selectors.questions import own_questions
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import School, SchoolYear
from teamroom.demo.load import SIGN_IN_FILE, DemoLoaded, load_demo
from teamroom.members.models import Classroom, Member, SchoolRole
from teamroom.members.selectors.roles_held import roles_in_classroom
from teamroom.school_file.dumping import dumped
from tests.demo.demo_readings import worst_windows

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def data(tmp_path: Path, settings: Any) -> Path:
    settings.DATA_DIR = tmp_path
    return tmp_path


def everything() -> tuple[Any, ...]:
    return (
        list(School.objects.values()),
        list(SchoolYear.objects.values()),
        list(Member.objects.order_by("pk").values()),
        list(Reading.objects.order_by("pk").values()),
    )


def loaded_and_taken_back() -> DemoLoaded:
    """As when the loading fails after all: nothing of it stays in the database."""
    with transaction.atomic():
        loaded = load_demo()
        transaction.set_rollback(True)
    return loaded


def test_everybody_listed_can_sign_in_with_the_one_passphrase() -> None:
    loaded = load_demo()
    assert len(loaded.people) == Member.objects.count() == 8
    for name, _, email in loaded.people:
        member = Member.objects.get(email=email)
        assert member.name == name
        assert member.check_password(loaded.passphrase)


def test_a_question_waits_for_the_lead_and_an_answered_one_for_who_asked() -> None:
    load_demo()
    waiting = own_questions(Member.objects.get(email="priya@demo.example"))
    answered = own_questions(Member.objects.get(email="tobin@demo.example"))
    assert [line.about.split(",")[0] for line in waiting.to_answer] == ["Science"]
    assert [line.about.split(",")[0] for line in answered.answered] == ["Mathematics"]


def test_loading_twice_changes_nothing_and_says_the_same() -> None:
    first = load_demo()
    before = everything()
    assert load_demo() == first
    assert everything() == before


def test_only_the_owner_can_read_how_to_sign_in(data: Path) -> None:
    loaded = load_demo()
    path = data / SIGN_IN_FILE
    assert path.stat().st_mode & 0o777 == 0o600
    text = path.read_text(encoding="utf-8")
    assert loaded.passphrase in text
    assert all(person.email in text for person in loaded.people)


def test_each_installation_has_a_passphrase_of_its_own(data: Path) -> None:
    first = loaded_and_taken_back().passphrase
    (data / SIGN_IN_FILE).unlink()
    assert loaded_and_taken_back().passphrase != first


def test_a_passphrase_written_down_before_a_loading_that_failed_is_the_one_used() -> None:
    first = loaded_and_taken_back().passphrase
    assert not School.objects.exists()
    again = load_demo()
    assert again.passphrase == first
    assert Member.objects.get(email=again.people[0].email).check_password(first)


def test_another_school_is_left_alone() -> None:
    School.objects.create(name="Somewhere else", time_zone="America/Chicago")
    with pytest.raises(RuleBroken, match="a school here already"):
        load_demo()
    assert School.objects.count() == 1
    assert not Member.objects.exists()


def test_a_passphrase_thrown_away_is_not_made_up_again(data: Path) -> None:
    load_demo()
    (data / SIGN_IN_FILE).unlink()
    with pytest.raises(RuleBroken, match="changepassword"):
        load_demo()


def test_the_roles_are_those_of_a_school() -> None:
    load_demo()
    room = Classroom.objects.get(key="room-21")

    def roles(email: str) -> set[str]:
        return set(roles_in_classroom(Member.objects.get(email=email), room))

    assert roles("priya@demo.example") == {"lead", "own classroom"}
    assert roles("tobin@demo.example") == {"teacher"}
    assert roles("anselm@demo.example") == {"guest"}
    assert roles("wilma@demo.example") == set()
    assert set(SchoolRole.objects.values_list("member__email", "role")) == {
        ("desmond@demo.example", "coordinator"),
        ("marit@demo.example", "administrator"),
    }


def test_the_file_is_as_the_app_itself_would_write_it() -> None:
    load_demo()
    written = Path(__file__).parents[2] / "teamroom" / "demo" / "school.json"
    assert dumped(SchoolYear.objects.get()) == written.read_text(encoding="utf-8")


def test_the_readings_stored_are_those_of_the_engine() -> None:
    load_demo()
    stored = set(Reading.objects.values_list("classroom__key", "grade", "rule__key", "part", "status", "short_windows"))
    ours = {
        (r["classroom"], r["grade"], r["rule"], r["part"], r["status"], r["short_windows"]) for r in worst_windows()
    }
    assert {row[:5] for row in stored} == {row[:5] for row in ours}
    assert {row for row in stored if row[3] is not None} == {row for row in ours if row[3] is not None}


def test_the_file_is_json_that_people_can_read() -> None:
    text = (Path(__file__).parents[2] / "teamroom" / "demo" / "school.json").read_text(encoding="utf-8")
    assert json.loads(text)["school"]["name"] == "Larkwater Elementary School"
    assert max(len(line) for line in text.splitlines()) < 900
