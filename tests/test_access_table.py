"""Who may ask for what: every address of the app against every role. An address that is not listed fails."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from scheduling.models import Block, Rule
from teamroom.members.models import Member
from tests.factories import (
    add,
    make_classroom,
    make_coordinator,
    make_member,
    make_rule,
    make_teacher,
    make_teammate,
    make_week,
    make_year,
)

PEOPLE = ("own", "lead", "teammate", "guest", "coordinator", "administrator", "stranger", "nobody")
OPEN = (200, 200, 200, 200, 200, 200, 200, 200)
MEMBERS = (200, 200, 200, 200, 200, 200, 200, 302)
READ = (200, 200, 200, 200, 200, 200, 404, 302)
EDIT = (200, 200, 403, 403, 403, 200, 404, 302)
# A plain form that was done leads back to the week; one that lacks everything is refused with 422.
SENT = (422, 422, 403, 403, 403, 422, 404, 302)
DONE = (302, 302, 403, 403, 403, 302, 404, 302)

TABLE: dict[tuple[str, str], tuple[int, ...]] = {
    ("home", "GET"): MEMBERS,
    ("health", "GET"): OPEN,
    ("members:sign-in", "GET"): (302, 302, 302, 302, 302, 302, 302, 200),
    ("members:sign-out", "POST"): (302,) * 8,
    ("scheduling:week", "GET"): READ,
    ("scheduling:week-begin", "POST"): SENT,
    ("scheduling:week-start", "GET"): EDIT,
    ("scheduling:week-start", "POST"): SENT,
    ("scheduling:week-list", "GET"): READ,
    ("scheduling:week-date", "GET"): EDIT,
    ("scheduling:week-date", "POST"): SENT,
    ("scheduling:week-drop", "GET"): EDIT,
    ("scheduling:week-drop", "POST"): DONE,
    ("scheduling:week-undo", "POST"): DONE,
    ("scheduling:block-add", "GET"): EDIT,
    ("scheduling:block-add", "POST"): SENT,
    ("scheduling:block-edit", "GET"): READ,
    ("scheduling:block-edit", "POST"): SENT,
    ("scheduling:block-move", "GET"): EDIT,
    ("scheduling:block-move", "POST"): SENT,
    ("scheduling:block-split", "GET"): EDIT,
    ("scheduling:block-split", "POST"): SENT,
    ("scheduling:block-remove", "GET"): EDIT,
    ("scheduling:block-remove", "POST"): SENT,
    ("scheduling:reading-trace", "GET"): READ,
}
CASES = [
    pytest.param(name, method, person, status, id=f"{method} {name} {person}")
    for (name, method), statuses in TABLE.items()
    for person, status in zip(PEOPLE, statuses, strict=True)
]


def _names(resolver: URLResolver, prefix: str = "") -> Iterator[str]:
    for pattern in resolver.url_patterns:
        if isinstance(pattern, URLResolver):
            yield from _names(pattern, f"{prefix}{pattern.namespace}:" if pattern.namespace else prefix)
        elif isinstance(pattern, URLPattern):
            yield f"{prefix}{pattern.name}"


def test_every_address_is_in_the_table() -> None:
    assert set(_names(get_resolver())) == {name for name, _ in TABLE}


@pytest.fixture
def people(db: None) -> dict[str, Member]:
    year = make_year()
    classroom = make_classroom(year)
    found = {
        "own": make_teacher(classroom),
        "lead": make_teammate(classroom.team, "Lena", "lead"),
        "teammate": make_teammate(classroom.team),
        "guest": make_teammate(classroom.team, "Guido", "guest"),
        "coordinator": make_coordinator(year.school),
        "administrator": make_coordinator(year.school, "Ada", "administrator"),
    }
    found["stranger"] = make_teacher(make_classroom(make_year("Another school")), "Stella")
    add(make_week(classroom), found["own"], ("mon", "08:00", "09:00", "math"))
    make_rule(year, "math_week", {"pool": {"of": ["math"]}, "at_least": 60})
    return found


def _address(name: str, own: Member) -> str:
    classroom = own.classrooms.get()
    block = Block.objects.get()
    ids: dict[str, Any] = {
        "classroom": classroom.pk,
        "week": block.column.week_id,
        "block": block.pk,
        "rule": Rule.objects.get().pk,
        "part": 0,
    }
    pattern = {
        "scheduling:week": ["classroom"],
        "scheduling:week-begin": ["classroom"],
        "scheduling:week-start": ["week"],
        "scheduling:week-list": ["week"],
        "scheduling:week-date": ["week"],
        "scheduling:week-drop": ["week"],
        "scheduling:week-undo": ["week"],
        "scheduling:block-add": ["week"],
        "scheduling:reading-trace": ["classroom", "rule", "part"],
    }
    wanted = pattern.get(name, ["block"] if name.startswith("scheduling:block") else [])
    return reverse(name, args=[ids[key] for key in wanted])


@pytest.mark.parametrize(("name", "method", "person", "status"), CASES)
def test_access(people: dict[str, Member], name: str, method: str, person: str, status: int) -> None:
    client = Client()
    if person != "nobody":
        client.force_login(people[person])
    response = client.generic(method, _address(name, people["own"]))
    assert response.status_code == status


def test_edits_are_refused_without_the_token_that_forms_carry(people: dict[str, Member]) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(people["own"])
    response = client.post(_address("scheduling:block-remove", people["own"]), {"revision": 2})
    assert response.status_code == 403
    assert Block.objects.exists()


def test_a_member_of_no_team_sees_the_next_step(people: dict[str, Member]) -> None:
    client = Client()
    client.force_login(make_member("Nora"))
    assert "Ask your grade" in client.get("/").text
