"""The one listener of a process, at a database server of its own that is stopped and started again."""

import asyncio
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psycopg
import pytest
from hypothesis import given
from hypothesis import strategies as st

from teamroom.common.embedded import lease
from teamroom.common.embedded.errors import CannotServe
from teamroom.common.live.announcing import CHANNEL, RAISED
from teamroom.common.live.feed import Feed
from teamroom.common.live.hub import Hub, Subscription
from tests.live.serving import PATIENCE, played

TOPIC = "classroom-1"
TABLE = "CREATE TABLE live_topic (name text PRIMARY KEY, edition bigint NOT NULL)"


@pytest.fixture
def data() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="teamroom-hub-") as folder:
        # Root lends the database to a system user, who must get in.
        Path(folder).chmod(0o711)
        yield Path(folder) / "data"
        lease.give_back(Path(folder) / "data")


def parameters(data: Path) -> dict[str, Any]:
    """How to connect to the server in a folder, started if it is not running. Raises CannotServe."""
    sockets = lease.take(data, "postgres", durable=False).sockets
    return {"host": str(sockets), "user": "teamroom", "dbname": "teamroom"}


def announced(data: Path, times: int) -> None:
    with psycopg.connect(**parameters(data)) as connection:
        for _ in range(times):
            connection.execute(RAISED, [[TOPIC], CHANNEL])
            connection.commit()


async def told_until(subscription: Subscription, feed: Feed, edition: int) -> list[int]:
    told: list[int] = []
    async with asyncio.timeout(PATIENCE):
        while told[-1:] != [edition]:
            for topic, stands in await subscription.take():
                told += [change.edition for change in feed.moved(topic, stands)]
    return told


def test_whoever_follows_hears_each_edition_once_though_the_database_server_is_stopped_and_started(data: Path) -> None:
    with psycopg.connect(**parameters(data)) as connection:
        connection.execute(TABLE)
    stopped = asyncio.Event()

    def found() -> dict[str, Any]:
        if stopped.is_set():
            raise CannotServe("The server is being looked after.")
        return parameters(data)

    async def story() -> list[int]:
        hub, feed = Hub(found), Feed({TOPIC: 0})
        with hub.subscribed([TOPIC]) as subscription:
            assert await hub.ready(patience=PATIENCE)
            await asyncio.to_thread(announced, data, 3)
            told = await told_until(subscription, feed, 3)
            stopped.set()
            await asyncio.to_thread(lease.give_back, data)
            while await hub.ready(patience=0.01):
                await asyncio.sleep(0.05)
            # Back, and changed twice before the listener finds it.
            await asyncio.to_thread(announced, data, 2)
            stopped.clear()
            told += await told_until(subscription, feed, 5)
            await asyncio.to_thread(announced, data, 2)
            told += await told_until(subscription, feed, 7)
        await hub.close()
        return told

    assert played(story()) == [1, 2, 3, 4, 5, 6, 7]


@given(st.lists(st.integers(1, 50), min_size=1))
def test_what_waits_never_goes_back_whatever_is_heard_late(editions: list[int]) -> None:
    async def story() -> list[tuple[str, int]]:
        subscription = Subscription()
        for edition in editions:
            subscription.offer(TOPIC, edition)
        return await subscription.take()

    assert played(story()) == [(TOPIC, max(editions))]
