"""Who is here, with a real Valkey, and without one."""

import os
import socket
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import redis
from django.conf import settings as project
from django.test import Client

from teamroom.common.embedded import lease
from teamroom.common.embedded.places import broker_url
from teamroom.common.live import presence
from teamroom.common.live.presence import Present
from teamroom.members.models import Classroom, Member
from tests import factories as make

ANA, BEN = Present(1, "Ana", "tue"), Present(2, "Ben", "")


@pytest.fixture
def valkey(settings: Any) -> Iterator[None]:
    """The broker of the run; what one test says is not there for the next."""
    settings.REDIS_URL = broker_url(project.DATA_DIR)
    lease.take(Path(os.environ["TEAMROOM_DATA"]), "valkey")
    presence._server.cache_clear()
    presence._away_until = 0.0
    redis.Redis.from_url(settings.REDIS_URL).delete("teamroom:here:here-test", "teamroom:here:classroom-1")
    yield
    presence._server.cache_clear()
    presence._away_until = 0.0


@pytest.fixture
def without_one(settings: Any, tmp_path: Path) -> Iterator[None]:
    settings.REDIS_URL = f"unix://{tmp_path}/nobody"
    presence._server.cache_clear()
    presence._away_until = 0.0
    yield
    presence._server.cache_clear()
    presence._away_until = 0.0


@pytest.mark.usefixtures("valkey")
def test_each_sees_the_others_and_not_themselves() -> None:
    assert presence.here("here-test", ANA) == []
    assert presence.here("here-test", BEN) == [ANA]
    assert presence.here("here-test", ANA._replace(day="wed")) == [BEN]
    assert presence.here("here-test", BEN) == [ANA._replace(day="wed")]
    presence.gone("here-test", ANA.member)
    assert presence.here("here-test", BEN) == []


@pytest.mark.usefixtures("valkey")
def test_what_is_said_is_forgotten_within_a_minute(monkeypatch: pytest.MonkeyPatch) -> None:
    presence.here("here-test", ANA)
    server = redis.Redis.from_url(broker_url(project.DATA_DIR))
    assert 0 < server.ttl("teamroom:here:here-test") <= presence.LIFE < 60
    monkeypatch.setattr(presence, "LIFE", 1)
    time.sleep(1.1)
    assert presence.here("here-test", BEN) == []


@pytest.mark.usefixtures("without_one")
def test_without_it_nobody_is_seen_and_nobody_waits() -> None:
    begun = time.monotonic()
    for _ in range(50):
        assert presence.here("here-test", ANA) == []
        presence.gone("here-test", ANA.member)
    assert time.monotonic() - begun < 2 * presence.PATIENCE + 1


def test_one_that_takes_the_call_and_says_nothing_is_waited_for_once(settings: Any) -> None:
    presence._server.cache_clear()
    presence._away_until = 0.0
    with socket.create_server(("127.0.0.1", 0)) as dumb:
        settings.REDIS_URL = f"redis://127.0.0.1:{dumb.getsockname()[1]}/0"
        begun = time.monotonic()
        for _ in range(20):
            assert presence.here("here-test", ANA) == []
        assert time.monotonic() - begun < 2 * presence.PATIENCE
    presence._server.cache_clear()
    presence._away_until = 0.0


@pytest.fixture
def classroom() -> Classroom:
    return make.make_classroom(make.make_year())


def at(member: Member, classroom: Classroom, **fields: str) -> tuple[int, str]:
    client = Client()
    client.force_login(member)
    answer = client.post(f"/live/classrooms/{classroom.pk}/here/", fields)
    return answer.status_code, answer.content.decode().strip()


@pytest.mark.django_db
@pytest.mark.usefixtures("valkey")
def test_the_page_names_who_else_is_there_and_on_which_day(classroom: Classroom) -> None:
    teacher, guest = make.make_teacher(classroom), make.make_teammate(classroom.team, "Gus", "guest")
    redis.Redis.from_url(broker_url(project.DATA_DIR)).delete(f"teamroom:here:classroom-{classroom.pk}")
    assert at(teacher, classroom, day="tue") == (200, "")
    assert at(guest, classroom, day="<b>") == (200, "Also here: Olive on Tuesday")
    assert at(teacher, classroom) == (200, "Also here: Gus")
    assert at(guest, classroom, leaving="1") == (204, "")
    assert at(teacher, classroom) == (200, "")


@pytest.mark.django_db
@pytest.mark.usefixtures("without_one")
def test_the_week_is_edited_without_it_as_ever(classroom: Classroom) -> None:
    assert at(make.make_teacher(classroom), classroom, day="tue") == (200, "")
