"""Anything at all sent to the forms of people: never a fault of ours, never half a deed."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from urllib.parse import quote

import pytest
from django.core import mail
from django.db import transaction
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from teamroom.dates.models import School
from teamroom.members.models import ClassTeacher, DistrictRole, Invitation, Member, SchoolRole, TeamRole
from tests import factories as make
from tests.members.letting_in import PASSPHRASE, Place, path_of

anything = st.text(st.characters(exclude_categories=["Cs"]), max_size=40)
ids = st.sampled_from(
    ["{team}", "{other}", "{room}", "{other_room}", "", "-1", "9" * 30, "1e3", "\N{ARABIC-INDIC DIGIT ONE}"]
)
roles = st.sampled_from(["administrator", "coordinator", "lead", "teacher", "guest", "district administrator", ""])
addresses = st.sampled_from(["nora@school.example", "ADA@school.example", "\N{LATIN SMALL LETTER DOTLESS I}@b.example"])
days = st.sampled_from(["3", "14", "0", "-1", "9999999999", ""]) | anything
pytestmark = pytest.mark.django_db


def some(**fields: st.SearchStrategy[str]) -> st.SearchStrategy[dict[str, str]]:
    return st.fixed_dictionaries({}, optional={name: field | anything for name, field in fields.items()})


quick = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))


def rows() -> dict[str, int]:
    models = (Member, SchoolRole, TeamRole, ClassTeacher, DistrictRole, Invitation, School)
    return {model.__name__: model._default_manager.count() for model in models}


@dataclass
class Asked:
    """An administrator who sends things, and somebody they are sent about."""

    place: Place
    client: Client
    perry: Member

    def post(self, name: str, sent: dict[str, str], *more: int) -> int:
        path = reverse(f"members:{name}", args=[self.place.year.pk, *more])
        status: int = self.client.post(path, self.meant(sent)).status_code
        return status

    def meant(self, sent: dict[str, str]) -> dict[str, str]:
        """With the ids that the braces stand for."""
        place = self.place
        known = {
            "{team}": place.team.pk,
            "{other}": place.other_room.team_id,
            "{room}": place.room.pk,
            "{other_room}": place.other_room.pk,
        }
        return {key: str(known.get(value, value)) for key, value in sent.items()}


@pytest.fixture
def asked() -> Asked:
    place = Place()
    client = Client()
    client.force_login(place.administrator)
    return Asked(place, client, make.make_teammate(place.other_room.team, "Perry"))


@contextmanager
def undone() -> Iterator[dict[str, int]]:
    """The rows there are; whatever an example writes is gone after it."""
    with transaction.atomic():
        yield rows()
        transaction.set_rollback(True)


@quick
@given(
    sent=some(email=addresses, name=anything, school_role=roles, team=ids, team_role=roles, classroom=ids, days=days)
)
@example(sent={"email": "nora@school.example", "team": "{team}", "team_role": "teacher", "days": "14"})
def test_inviting(asked: Asked, sent: dict[str, str]) -> None:
    with undone() as before:
        letters = len(mail.outbox)
        status = asked.post("invite", sent)
        made = rows()["Invitation"] - before["Invitation"]
        assert (status, made) in {(200, 1), (422, 0)}
        assert len(mail.outbox) - letters == made
        assert {**rows(), "Invitation": 0} == {**before, "Invitation": 0}


@quick
@given(sent=some(role=roles, team=ids))
@example(sent={"role": "lead", "team": "{other}"})
def test_giving_and_taking_roles(asked: Asked, sent: dict[str, str]) -> None:
    for name in ("school-role-give", "school-role-take", "team-role-give", "team-role-take"):
        with undone() as before:
            status = asked.post(name, sent, asked.perry.pk)
            after = rows()
            assert status in (302, 422)
            if status == 422:
                assert after == before
            changed = {model for model in after if after[model] != before[model]}
            assert changed <= {"SchoolRole" if name.startswith("school") else "TeamRole"}


@quick
@given(sent=some(name=anything, passphrase=st.sampled_from([PASSPHRASE, "short"])))
@example(sent={"name": "Nora", "passphrase": "a long enough phrase"})
def test_coming_in(asked: Asked, sent: dict[str, str]) -> None:
    with undone():
        made = asked.place.invited("new@school.example")
        before = rows()
        status = Client().post(path_of(made), sent).status_code
        came = rows()["Member"] - before["Member"]
        assert (status, came) in {(302, 1), (422, 0)}
        assert rows()["TeamRole"] - before["TeamRole"] == came
        assert Invitation.objects.filter(accepted_at=None).count() == 1 - came


@quick
@given(token=anything)
def test_links(asked: Asked, token: str) -> None:
    with undone():
        asked.place.invited("new@school.example")
        before = rows()
        path = f"/invitation/{quote(token)}/"
        for answer in (Client().get(path), Client().post(path, {"name": "Eve", "passphrase": PASSPHRASE})):
            # A token without text, or with a slash in it, is another address.
            assert answer.status_code in (301, 404, 410)
        assert rows() == before


@quick
@given(
    sent=some(
        name=anything, time_zone=st.sampled_from(["UTC", "America/Chicago"]), place=st.just("US-CA"), email=addresses
    )
)
@example(sent={"name": "Juniper Ridge", "time_zone": "UTC", "email": "nora@school.example"})
def test_founding(asked: Asked, sent: dict[str, str]) -> None:
    with undone():
        DistrictRole.objects.create(member=asked.place.administrator)
        before = rows()
        status = asked.client.post("/schools/found/", sent).status_code
        founded = rows()["School"] - before["School"]
        assert status in (200, 302, 422)
        assert (status in (200, 302)) == (founded == 1)
        # The link is shown, with 200, where somebody was invited.
        assert rows()["Invitation"] - before["Invitation"] == (1 if status == 200 else 0)


@quick
@given(sent=some(email=addresses))
@example(sent={"email": "ADA@school.example"})
def test_naming_for_the_district(asked: Asked, sent: dict[str, str]) -> None:
    with undone():
        DistrictRole.objects.create(member=asked.perry)
        client = Client()
        client.force_login(asked.perry)
        before = rows()
        status = client.post("/district/administrators/give/", sent).status_code
        named = rows()["DistrictRole"] - before["DistrictRole"]
        assert (status, named) in {(302, 1), (422, 0)}


@quick
@given(query=some(q=anything, team=ids, role=roles, team_role=roles, email=addresses))
def test_looking_for_people(asked: Asked, query: dict[str, str]) -> None:
    year = asked.place.year.pk
    for path in (
        reverse("members:people", args=[year]),
        reverse("members:person", args=[year, asked.perry.pk]),
        reverse("members:invite", args=[year]),
    ):
        assert asked.client.get(path, asked.meant(query)).status_code == 200
