"""From an empty database to a school: the link, the first administrator, and the three ways to begin."""

import datetime as dt
import zoneinfo
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from teamroom.dates.models import School, SchoolYear
from teamroom.dates.places import state_choices, zone_choices
from teamroom.demo.load import SIGN_IN_FILE
from teamroom.demo.people import PEOPLE
from teamroom.members.models import DistrictRole, Member, SchoolRole
from teamroom.members.services.first_administrator import make_first_link
from tests import factories as make

FAY = {"name": "Fay Ostrander", "email": "fay@school.example", "passphrase": "seven quiet lanterns at dusk"}
SCHOOL = {
    "name": "Fernhollow Elementary",
    "place": "US-WI",
    "time_zone": "America/Chicago",
    "year_name": "2026-27",
    "first_day": "2026-09-01",
    "last_day": "2027-06-11",
}


def first_link() -> str:
    token = make_first_link()
    assert token is not None
    return reverse("first", args=[token])


def founder() -> Client:
    """Somebody who may found schools, signed in."""
    member = make.make_member("Fay")
    DistrictRole.objects.create(member=member)
    client = Client()
    client.force_login(member)
    return client


@pytest.mark.django_db
def test_an_empty_installation_says_where_the_link_is() -> None:
    page = Client().get("/", follow=True)
    assert "Nobody is here yet" in page.text and "first_link" in page.text
    assert 'type="password"' not in page.text


@pytest.mark.django_db
def test_once_somebody_is_there_the_sign_in_page_is_for_signing_in() -> None:
    make.make_member("Fay")
    page = Client().get("/", follow=True)
    assert "Nobody is here yet" not in page.text
    assert 'type="password"' in page.text


@pytest.mark.django_db
def test_the_link_signs_the_first_administrator_in_and_leads_to_the_first_school() -> None:
    client, link = Client(), first_link()
    assert client.get(link).status_code == 200
    answer = client.post(link, FAY, follow=True)
    assert answer.redirect_chain == [(reverse("begin"), 302)]
    assert "Begin the first school" in answer.text
    assert Member.objects.get().name == "Fay Ostrander"
    assert Client().post(link, {**FAY, "email": "eve@school.example"}).status_code == 404
    assert Member.objects.count() == 1


@pytest.mark.django_db
def test_what_is_refused_stands_at_its_field_and_nothing_typed_is_lost_but_the_passphrase() -> None:
    client, link = Client(), first_link()
    page = client.post(link, {**FAY, "passphrase": "password"})
    assert page.status_code == 422
    assert 'id="id_passphrase_error"' in page.text and "Fay Ostrander" in page.text
    assert not Member.objects.exists()
    assert client.post(link, FAY).status_code == 302


@pytest.mark.django_db
def test_a_worthless_link_says_whether_a_newer_one_helps() -> None:
    old = first_link()
    first_link()
    page = Client().get(old)
    assert page.status_code == 404 and "first_link" in page.text
    make.make_member("Fay")
    assert "somebody administers this installation already" in Client().get(old).text


@pytest.mark.django_db
def test_a_school_begun_on_the_screens_has_its_year_and_its_administrator() -> None:
    client = founder()
    answer = client.post(reverse("begin"), SCHOOL)
    year = SchoolYear.objects.get()
    assert answer.headers["Location"] == reverse("setup", args=[year.pk])
    assert (year.school.name, year.school.place, year.school.time_zone) == (
        "Fernhollow Elementary",
        "US-WI",
        "America/Chicago",
    )
    assert (year.first_day, year.last_day, year.being_set_up) == (dt.date(2026, 9, 1), dt.date(2027, 6, 11), True)
    assert [kind.key for kind in year.day_kinds.all()] == ["regular"]
    assert SchoolRole.objects.get().role == "administrator"
    page = client.get(answer.headers["Location"])
    assert "and you are its administrator" in page.text
    # Somebody comes back to where they left it.
    assert reverse("setup", args=[year.pk]) in client.get("/").text


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("spoiled", "field", "said"),
    [
        ({"name": "  "}, "name", "Give the school"),
        ({"time_zone": "Mars/Olympus"}, "time_zone", "Choose from the list."),
        ({"place": "US-XX"}, "place", "Choose from the list."),
        ({"last_day": "2026-08-01"}, "last_day", "comes after the first"),
        ({"first_day": "soon"}, "first_day", "Write a date"),
        ({"year_name": ""}, "year_name", "Name the year"),
    ],
)
def test_a_school_that_cannot_be_begun_is_refused_at_the_field(spoiled: dict[str, str], field: str, said: str) -> None:
    page = founder().post(reverse("begin"), {**SCHOOL, **spoiled})
    assert page.status_code == 422
    assert f'id="id_{field}_error"' in page.text and said in page.text
    assert not School.objects.exists()


@pytest.mark.django_db
def test_a_name_that_is_taken_leaves_nothing_half_begun() -> None:
    make.make_year()
    page = founder().post(reverse("begin"), SCHOOL)
    assert page.status_code == 422
    assert "There is a school called Fernhollow Elementary already" in page.text
    assert (School.objects.count(), SchoolYear.objects.count()) == (1, 1)


@pytest.mark.django_db
def test_the_demo_is_offered_and_loaded_only_while_there_is_no_school(settings: Any, tmp_path: Any) -> None:
    settings.DATA_DIR = tmp_path
    client = founder()
    assert reverse("begin-demo") in client.get(reverse("begin")).text
    answer = client.post(reverse("begin-demo"), follow=True)
    assert str(tmp_path / SIGN_IN_FILE) in answer.text
    assert Member.objects.count() == len(PEOPLE) + 1
    assert SchoolRole.objects.filter(member__name="Fay", role="administrator").exists()
    assert reverse("begin-demo") not in client.get(reverse("begin")).text
    again = client.post(reverse("begin-demo"), follow=True)
    assert "only where there is none" in again.text
    assert School.objects.count() == 1


def test_every_state_and_territory_can_be_chosen_by_name() -> None:
    states = dict(state_choices())
    assert states["US-CA"] == "California" and states["US-PR"] == "Puerto Rico"
    # Fifty states, the District of Columbia, six territories (ISO 3166-2:US), and the empty choice. From memory.
    assert len(states) == 58
    assert all(name != code.removeprefix("US-") for code, name in states.items() if code)


def test_every_time_zone_of_the_list_is_one_of_this_machine() -> None:
    offered = [zone for _, zones in zone_choices() for zone, _ in zones]
    assert set(offered) <= zoneinfo.available_timezones()
    assert len(offered) == len(set(offered)) > 300
