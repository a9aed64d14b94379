"""The console brings in the first person of a school."""

import re
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from teamroom.members.models import Member
from tests import factories as make

pytestmark = pytest.mark.django_db


def added(*arguments: str) -> str:
    told = StringIO()
    call_command("add_member", "ada@school.example", "--name", "Ada", *arguments, stdout=told)
    return told.getvalue()


def test_an_administrator_chooses_a_passphrase_by_the_link_that_is_printed() -> None:
    """No passphrase that the app made stays for long (ASVS 6.4.1): there is none."""
    make.make_classroom(make.make_year())
    told = added("--role", "administrator", "--site", "https://teamroom.example/")
    found = re.search(r"https://teamroom\.example(/passphrase/new/\S+)", told)
    assert found is not None and not Member.objects.get().has_usable_password()
    client = Client()
    data = {"password1": "kettle sparrow ladder plum", "password2": "kettle sparrow ladder plum"}
    assert client.post(client.get(found[1])["Location"], data).status_code == 302
    assert "lets nobody in any more" in Client().get(found[1]).text
    answer = client.post("/sign-in/", {"login": "ada@school.example", "password": data["password1"]})
    assert answer["Location"] == "/"
    assert Member.objects.get().school_roles.get().role == "administrator"


def test_a_teacher_gets_a_team_and_a_classroom_of_their_own() -> None:
    room = make.make_classroom(make.make_year())
    added("--role", "teacher", "--team", "grade4", "--classroom", "room12")
    assert [member.name for member in room.teachers.all()] == ["Ada"]


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["--role", "teacher"], "Say of which team with --team: grade4"),
        (["--role", "teacher", "--team", "grade5"], "did you mean"),
        (["--role", "coordinator", "--team", "grade4"], "leave --team out"),
        (["--role", "lead", "--team", "grade4", "--classroom", "room13"], "no classroom"),
    ],
)
def test_what_cannot_be_is_said_and_nobody_is_added(arguments: list[str], sentence: str) -> None:
    make.make_classroom(make.make_year())
    with pytest.raises(CommandError, match=sentence):
        added(*arguments)
    assert not Member.objects.exists()


def test_an_address_is_taken_whatever_its_letters_case() -> None:
    make.make_classroom(make.make_year())
    make.make_member("ADA")
    with pytest.raises(CommandError, match="already"):
        added("--role", "administrator")


def test_without_a_school_it_says_to_load_one() -> None:
    with pytest.raises(CommandError, match="load_school"):
        added("--role", "administrator")
