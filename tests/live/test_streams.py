"""Streams of the real server: who may open one, and what comes down it."""

import json
from collections.abc import Callable, Iterator

import pytest
from asgiref.sync import sync_to_async
from django.db import connection, transaction
from django.test import Client

from teamroom.common.live.announcing import announce
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, Member
from tests import factories as make
from tests.live.serving import Server, a_server, a_stream, played, session_of, wait_until_it_answers

pytestmark = pytest.mark.django_db(transaction=True)
SOON = 0.3
"""Seconds in which nothing more is to come."""


@pytest.fixture
def year() -> SchoolYear:
    return make.make_year()


@pytest.fixture
def classroom(year: SchoolYear) -> Classroom:
    return make.make_classroom(year)


@pytest.fixture
def teacher(classroom: Classroom) -> Member:
    return make.make_teacher(classroom)


@pytest.fixture
def server(teacher: Member) -> Iterator[Server]:
    with a_server() as server:
        wait_until_it_answers(server)
        yield server


@sync_to_async
def raised(*topics: str, times: int = 1) -> None:
    for _ in range(times):
        with transaction.atomic():
            announce(*topics)


@sync_to_async
def said(sql: str) -> list[tuple[object, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return list(cursor.fetchall())


CUT = """
    SELECT pg_terminate_backend(pid) FROM pg_stat_activity
    WHERE datname = current_database() AND application_name = 'teamroom listener'
"""


def test_a_change_is_heard_and_one_that_was_taken_back_is_not(
    server: Server, classroom: Classroom, teacher: Member
) -> None:
    topic, year = f"classroom-{classroom.pk}", f"year-{classroom.year_id}"

    async def story() -> None:
        async with a_stream(server.port, session_of_teacher, [topic, year]) as stream:
            assert stream.status == 200
            assert stream.headers["content-type"] == "text/event-stream; charset=utf-8"
            name, stands = await stream.event()
            assert name == "at"
            await taken_back(topic)
            await raised(topic)
            assert await stream.event() == ("changed", {"topic": topic, "edition": int(stands[topic]) + 1})
            await raised(year, topic)
            heard = [await stream.event() for _ in range(2)]
            assert sorted(str(data["topic"]) for _, data in heard) == sorted([topic, year])
            assert stream.last_id == f"{topic}:{int(stands[topic]) + 2},{year}:{int(stands[year]) + 1}"
            with pytest.raises(TimeoutError):
                await stream.event(patience=SOON)

    @sync_to_async
    def taken_back(topic: str) -> None:
        with transaction.atomic():
            announce(topic)
            transaction.set_rollback(True)

    session_of_teacher = session_of(teacher)
    played(story())


def test_who_comes_again_is_told_each_thing_they_missed_once_and_in_order(
    server: Server, classroom: Classroom, teacher: Member
) -> None:
    topic, cookie = f"classroom-{classroom.pk}", session_of(teacher)

    async def story() -> None:
        await raised(topic)
        async with a_stream(server.port, cookie, [topic]) as stream:
            _, stands = await stream.event()
            await raised(topic, times=2)
            assert [(await stream.event())[1]["edition"] for _ in range(2)] == [2, 3]
            last = stream.last_id
        await raised(topic, times=3)
        for how in ({"last_id": last}, {"since": last}):
            async with a_stream(server.port, cookie, [topic], **how) as stream:
                assert await stream.event() == ("at", {topic: 3})
                assert [(await stream.event())[1]["edition"] for _ in range(3)] == [4, 5, 6]
                with pytest.raises(TimeoutError):
                    await stream.event(patience=SOON)

    played(story())


def test_a_listener_that_was_cut_off_misses_nothing(server: Server, classroom: Classroom, teacher: Member) -> None:
    topic, cookie = f"classroom-{classroom.pk}", session_of(teacher)

    async def story() -> None:
        async with a_stream(server.port, cookie, [topic]) as stream:
            await stream.event()
            for n in range(5):
                assert len(await said(CUT)) == 1
                await raised(topic, times=2)
                assert [(await stream.event())[1]["edition"] for _ in range(2)] == [2 * n + 1, 2 * n + 2]

    played(story())


@pytest.mark.parametrize("who", ["a stranger", "of another school", "nobody"])
def test_a_stream_is_opened_only_for_who_may_read_what_it_is_about(
    who: str, server: Server, classroom: Classroom, teacher: Member
) -> None:
    people: dict[str, Callable[[], str]] = {
        "a stranger": lambda: session_of(make.make_member("Stranger")),
        "of another school": lambda: session_of(make.make_coordinator(make.make_year("Elsewhere").school)),
        "nobody": lambda: "",
    }
    cookie = people[who]()

    async def story() -> None:
        for topic in (f"classroom-{classroom.pk}", f"year-{classroom.year_id}"):
            async with a_stream(server.port, cookie, [topic]) as stream:
                assert stream.status == (401 if who == "nobody" else 404)

    played(story())


@pytest.mark.parametrize(
    "topic", ["", "classroom-", "classroom-x", "school-1", "classroom-99999999999999999999", "year"]
)
def test_a_topic_that_is_none_is_not_found(topic: str, server: Server, teacher: Member) -> None:
    cookie = session_of(teacher)

    async def story() -> None:
        async with a_stream(server.port, cookie, [topic]) as stream:
            assert stream.status == 404
        async with a_stream(server.port, cookie, []) as stream:
            assert stream.status == 404

    played(story())


def test_a_stream_is_read_and_nothing_else(server: Server, classroom: Classroom, teacher: Member) -> None:
    cookie = session_of(teacher)

    async def story() -> None:
        async with a_stream(server.port, cookie, [f"classroom-{classroom.pk}"], method="POST") as stream:
            assert stream.status == 405

    played(story())


def test_asking_every_few_seconds_is_told_the_same(classroom: Classroom, teacher: Member) -> None:
    client = Client()
    client.force_login(teacher)
    topic, year = f"classroom-{classroom.pk}", f"year-{classroom.year_id}"
    with transaction.atomic():
        announce(topic)
    answer = client.get("/live/positions/", {"topic": [topic, year]})
    assert json.loads(answer.content)[topic] == 1
    assert client.get("/live/positions/", {"topic": [topic, "classroom-0"]}).status_code == 404
    assert client.get("/live/positions/").status_code == 404
