"""Many streams at once and one after the other: everybody hears everything, and nothing is left behind.

TEAMROOM_STREAMS, TEAMROOM_CHANGES and TEAMROOM_CYCLES say how many (200, 60 and 1,000 unless told).
"""

import asyncio
import os
import random
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from asgiref.sync import sync_to_async
from django.db import connection, transaction

from teamroom.common.live.announcing import announce
from teamroom.management.commands.launch import listen
from teamroom.members.models import Classroom
from tests import factories as make
from tests.live.serving import Server, a_server, a_stream, played, session_of, wait_until_it_answers

pytestmark = pytest.mark.django_db(transaction=True)
STREAMS = int(os.environ.get("TEAMROOM_STREAMS", "200"))
CHANGES = int(os.environ.get("TEAMROOM_CHANGES", "60"))
CYCLES = int(os.environ.get("TEAMROOM_CYCLES", "1000"))
AT_ONCE = 20
ROOMS = 3


@pytest.fixture
def rooms() -> list[Classroom]:
    year = make.make_year()
    return [make.make_classroom(year, f"room{n}") for n in range(ROOMS)]


@pytest.fixture
def cookie(rooms: list[Classroom]) -> str:
    return session_of(make.make_teammate(rooms[0].team))


@pytest.fixture
def server(cookie: str) -> Iterator[Server]:
    with a_server() as server:
        wait_until_it_answers(server)
        yield server


@sync_to_async
def raised(topic: str) -> None:
    with transaction.atomic():
        announce(topic)


async def follow(
    port: int, cookie: str, topics: list[str], ends: dict[str, int], told: dict[str, list[int]], chance: random.Random
) -> None:
    """Read until every topic is at its end; now and then be cut off, and come again with the last id."""
    last, opened = "", False
    while not opened or any(told[topic][-1:] != [end] for topic, end in ends.items() if end):
        async with a_stream(port, cookie, topics, last_id=last, since="" if last else start(topics)) as stream:
            assert stream.status == 200
            await stream.event()
            opened = True
            for _ in range(chance.randint(5, 80)):
                if all(told[topic][-1:] == [end] for topic, end in ends.items() if end):
                    return
                _, data = await stream.event()
                told[str(data["topic"])].append(int(data["edition"]))
                last = stream.last_id
            stream.cut()


def start(topics: list[str]) -> str:
    return ",".join(f"{topic}:0" for topic in topics)


@pytest.mark.parametrize(("processes", "streams"), [(1, STREAMS), (2, STREAMS // 4)])
def test_every_stream_hears_every_change_in_order_exactly_once_though_many_are_cut_off(
    processes: int, streams: int, rooms: list[Classroom], cookie: str
) -> None:
    topics = [f"classroom-{room.pk}" for room in rooms]
    chance = random.Random(4)  # noqa: S311 - chance, no secret
    changes = [chance.choice(topics) for _ in range(CHANGES)]
    ends = {topic: changes.count(topic) for topic in topics}
    told: list[dict[str, list[int]]] = [{topic: [] for topic in topics} for _ in range(streams)]

    async def story(port: int) -> None:
        readers = [
            asyncio.create_task(follow(port, cookie, topics, ends, one, random.Random(n)))  # noqa: S311 - as above
            for n, one in enumerate(told)
        ]
        for topic in changes:
            await raised(topic)
            await asyncio.sleep(0.01)  # so that some are heard while others are opened or cut
        await asyncio.gather(*readers)

    with listen("127.0.0.1", 0) as listening, ExitStack() as running:
        servers = [running.enter_context(a_server(listening)) for _ in range(processes)]
        for server in servers:
            wait_until_it_answers(server)
        played(story(servers[0].port))
    wanted = {topic: list(range(1, end + 1)) for topic, end in ends.items()}
    assert [one for one in told if one != wanted] == []


def resident(server: Server) -> int:
    """Kilobytes of memory the server holds."""
    status = Path(f"/proc/{server.process.pid}/status").read_text(encoding="utf-8")
    return int(next(line for line in status.splitlines() if line.startswith("VmRSS")).split()[1])


def open_files(server: Server) -> int:
    return len(list(Path(f"/proc/{server.process.pid}/fd").iterdir()))


def connections_held() -> int:
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM pg_stat_activity WHERE datname = current_database()")
        (count,) = cursor.fetchone()
    return int(count)


async def come_and_go(server: Server, cookie: str, topic: str, times: int) -> None:
    gate = asyncio.Semaphore(AT_ONCE)

    async def once() -> None:
        async with gate, a_stream(server.port, cookie, [topic]) as stream:
            await stream.event()
            stream.cut()

    await asyncio.gather(*(once() for _ in range(times)))


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="memory is read from /proc")
def test_a_thousand_who_come_and_go_leave_neither_connections_nor_files_nor_memory_behind(
    server: Server, rooms: list[Classroom], cookie: str
) -> None:
    topic = f"classroom-{rooms[0].pk}"

    async def settled() -> tuple[int, int, int]:
        await asyncio.sleep(1)  # until the server has seen that the last of them are gone
        return resident(server), open_files(server), await sync_to_async(connections_held)()

    async def story() -> tuple[tuple[int, int, int], tuple[int, int, int]]:
        await come_and_go(server, cookie, topic, 200)
        before = await settled()
        await come_and_go(server, cookie, topic, CYCLES)
        return before, await settled()

    (memory, files, held), (memory_after, files_after, held_after) = played(story())
    assert files_after <= files + 2
    assert held_after <= held
    # What one stream holds is some 20 kB; a thousand kept would be 20 MB.
    assert memory_after < memory + 5_000, f"{memory_after - memory} kB more after {CYCLES} streams"
