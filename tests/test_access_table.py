"""Who may ask for what: every address of the app against every role. An address that is not listed fails.

The rows stand in `tests/access_rows/`, a module for each part of the app: `ROWS` says what each of
PEOPLE is answered, `ADDRESSES` which ids an address takes, and `prepare`, where there is one, makes
the rows of the database that its addresses need.
"""

from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest
from django.core.cache import cache
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from pytest_django import DjangoDbBlocker

from scheduling.models import Block
from tests.access_rows.world import PEOPLE, Addresses, Rows, World, make_world
from tests.factories import make_member

METHODS = ("GET", "POST")
PARTS = [
    import_module(f"tests.access_rows.{path.stem}")
    for path in sorted((Path(__file__).parent / "access_rows").glob("*.py"))
    if path.stem != "world"
]
TABLE: Rows = {key: statuses for part in PARTS for key, statuses in part.ROWS.items()}
ADDRESSES: Addresses = {name: keys for part in PARTS for name, keys in part.ADDRESSES.items()}
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


UNLISTED = [
    (name, method) for name in sorted({name for name, _ in TABLE}) for method in METHODS if (name, method) not in TABLE
]


@pytest.fixture(scope="module")
def lasting_world(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[World]:
    """One world for all rows: making it takes far longer than a request. What a test writes is taken back."""
    with django_db_blocker.unblock(), transaction.atomic():
        world = make_world()
        for part in PARTS:
            if hasattr(part, "prepare"):
                part.prepare(world)
        yield world
        transaction.set_rollback(True)


@pytest.fixture
def world(lasting_world: World, db: None) -> World:
    # Attempts are counted by account, and the accounts are the same for all rows.
    cache.clear()
    return lasting_world


def _address(world: World, name: str) -> str:
    return reverse(name, args=[world.ids[key] for key in ADDRESSES.get(name, ())])


@pytest.mark.parametrize(("name", "method", "person", "status"), CASES)
def test_access(world: World, name: str, method: str, person: str, status: int) -> None:
    client = Client()
    if person != "nobody":
        client.force_login(world.people[person])
    response = client.generic(method, _address(world, name))
    assert response.status_code == status


@pytest.mark.parametrize("method", METHODS)
def test_a_method_without_a_row_is_not_allowed(world: World, method: str) -> None:
    client = Client()
    answers = {}
    for name, other in UNLISTED:
        if other == method:
            client.force_login(world.people["administrator"])
            answers[name] = client.generic(method, _address(world, name)).status_code
    assert {name: status for name, status in answers.items() if status != 405} == {}


def test_edits_are_refused_without_the_token_that_forms_carry(world: World) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(world.people["own"])
    response = client.post(_address(world, "scheduling:block-remove"), {"revision": 2})
    assert response.status_code == 403
    assert Block.objects.exists()


def test_a_member_of_no_team_sees_the_next_step(world: World) -> None:
    client = Client()
    client.force_login(make_member("Nora"))
    assert "Ask your grade" in client.get("/").text
