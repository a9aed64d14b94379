"""School files over the screens: all of it or nothing, every fault told, and a year replaced only after a yes."""

import copy
import json
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from scheduling.models import Rule
from teamroom.common import uploads
from teamroom.dates.models import School, SchoolYear
from teamroom.members.models import Classroom, DistrictRole, SchoolRole
from teamroom.school_file.dumping import document_of
from tests import factories as make
from tests.school_file.files import WHOLE


def sent(document: Any) -> dict[str, SimpleUploadedFile]:
    data = document if isinstance(document, bytes) else json.dumps(document).encode()
    return {"file": SimpleUploadedFile("school.json", data, content_type="application/json")}


def founder(name: str = "Fay") -> Client:
    member = make.make_member(name)
    DistrictRole.objects.create(member=member)
    client = Client()
    client.force_login(member)
    return client


@pytest.mark.django_db
def test_a_sound_file_is_loaded_and_its_sender_becomes_the_administrator() -> None:
    client = founder()
    answer = client.post(reverse("begin-file"), sent(WHOLE), follow=True)
    year = SchoolYear.objects.get()
    assert answer.redirect_chain[-1] == (reverse("setup", args=[year.pk]), 302)
    rooms, rules = Classroom.objects.count(), Rule.objects.count()
    assert (
        f"Loaded Fernhollow Elementary, 2026-27: {rooms} classrooms" in answer.text and f"{rules} rules" in answer.text
    )
    assert SchoolRole.objects.get().role == "administrator"


@pytest.mark.django_db
def test_every_fault_is_told_in_one_go_and_nothing_is_loaded() -> None:
    document = copy.deepcopy(WHOLE)
    document["year"]["last_day"] = "soon"
    document["teams"][0]["colour"] = "green"
    document["classrooms"][0]["team"] = "nobody"
    page = founder().post(reverse("begin-file"), sent(document))
    assert page.status_code == 422
    assert "3 faults: nothing was loaded" in page.text
    for place in ("$.year.last_day", "$.teams[0].colour", "$.classrooms[0].team"):
        assert f"<code>{place}</code>" in page.text
    assert not School.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"no JSON", "not JSON"),
        (b"\xff\xfe", "UTF-8"),
        (b"[]", "one JSON object"),
        (b"{}", "no school file"),
        (b"", "empty"),
    ],
)
def test_a_file_that_is_no_school_file_is_told_so(data: bytes, said: str) -> None:
    page = founder().post(reverse("begin-file"), sent(data))
    assert page.status_code == 422 and said in page.text


@pytest.mark.django_db
def test_a_file_beyond_the_limit_is_thrown_away_as_it_comes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(uploads, "LARGEST_UPLOAD", 100_000)
    page = founder().post(reverse("begin-file"), sent(b" " * 300_000))
    assert page.status_code == 422 and "The file is larger than 32 MiB" in page.text
    assert "Choose the file" not in page.text


@pytest.mark.django_db
def test_no_file_is_a_refusal_at_the_field() -> None:
    page = founder().post(reverse("begin-file"))
    assert page.status_code == 422 and "Choose the file." in page.text


@pytest.mark.django_db
def test_a_file_that_would_replace_a_year_asks_first_with_what_it_replaces(settings: Any, tmp_path: Any) -> None:
    settings.DATA_DIR = tmp_path
    client = founder()
    client.post(reverse("begin-file"), sent(WHOLE))
    year = SchoolYear.objects.get()
    fewer = copy.deepcopy(WHOLE)
    gone = fewer["classrooms"].pop()
    fewer["weeks"] = [week for week in fewer["weeks"] if week["classroom"] != gone["key"]]
    fewer["rules"] = fewer["rules"][:1]
    fewer.pop("day_changes")
    answer = client.post(reverse("year-file", args=[year.pk]), sent(fewer), follow=True)
    assert answer.redirect_chain[-1] == (reverse("replace-year"), 302)
    assert f"{len(WHOLE['classrooms'])} classrooms" in answer.text and "not in the file" in answer.text
    assert gone.get("name", gone["key"]) in answer.text
    assert Rule.objects.count() == len(WHOLE["rules"])
    done = client.post(reverse("replace-year"), follow=True)
    assert Rule.objects.count() == 1
    put_aside = next((tmp_path / "replaced").iterdir())
    assert str(put_aside) in done.text
    # Once only: the file no longer waits.
    assert client.post(reverse("replace-year")).headers["Location"] == "/"


@pytest.mark.django_db
def test_a_file_waits_for_its_sender_alone(settings: Any, tmp_path: Any) -> None:
    settings.DATA_DIR = tmp_path
    client = founder()
    client.post(reverse("begin-file"), sent(WHOLE))
    client.post(reverse("begin-file"), sent({**WHOLE, "rules": WHOLE["rules"][:1]}))
    other = founder("Gus")
    assert other.post(reverse("replace-year")).headers["Location"] == "/"
    assert Rule.objects.count() == len(WHOLE["rules"])


@pytest.mark.django_db
def test_nobody_loads_a_file_into_a_school_they_do_not_administer() -> None:
    year = make.make_year()
    rooms = Classroom.objects.count()
    page = founder().post(reverse("begin-file"), sent(WHOLE))
    assert page.status_code == 422 and "only its administrators load files into it" in page.text
    other = make.make_coordinator(make.make_year("Another school").school, "Ada", "administrator")
    client = Client()
    client.force_login(other)
    own = SchoolYear.objects.get(school__name="Another school")
    page = client.post(reverse("year-file", args=[own.pk]), sent(WHOLE))
    assert page.status_code == 422
    assert (Classroom.objects.count(), Rule.objects.filter(year=year).count()) == (rooms, 0)


@pytest.mark.django_db
def test_who_loses_the_role_while_a_file_waits_cannot_say_yes(settings: Any, tmp_path: Any) -> None:
    settings.DATA_DIR = tmp_path
    client = founder()
    client.post(reverse("begin-file"), sent(WHOLE))
    client.post(reverse("begin-file"), sent({**WHOLE, "rules": WHOLE["rules"][:1]}))
    SchoolRole.objects.all().delete()
    answer = client.post(reverse("replace-year"), follow=True)
    assert "only its administrators" in answer.text
    assert Rule.objects.count() == len(WHOLE["rules"])


@pytest.mark.django_db
def test_an_administrator_founds_no_school_by_a_file() -> None:
    year = make.make_year("Another school")
    client = Client()
    client.force_login(make.make_coordinator(year.school, "Ada", "administrator"))
    page = client.post(reverse("year-file", args=[year.pk]), sent(WHOLE))
    assert page.status_code == 422 and "no school of that name that you administer" in page.text
    assert School.objects.count() == 1


@pytest.mark.django_db
def test_a_year_taken_home_and_sent_again_is_the_same_year(settings: Any, tmp_path: Any) -> None:
    settings.DATA_DIR = tmp_path
    client = founder()
    client.post(reverse("begin-file"), sent(WHOLE))
    year = SchoolYear.objects.get()
    before = document_of(year)
    answer = client.get(reverse("year-download", args=[year.pk]))
    assert answer.headers["Content-Disposition"] == 'attachment; filename="fernhollow-elementary-2026-27.json"'
    client.post(reverse("year-file", args=[year.pk]), sent(answer.content))
    client.post(reverse("replace-year"))
    assert document_of(SchoolYear.objects.get()) == before
