"""One listener a process: hears from the database what has changed and hands it to every open stream.

A stream holds no database connection while it waits. What a lost connection kept from being heard
is read from the topics' table when the next one listens, so nothing is missed.
"""

import asyncio
import logging
from collections import defaultdict
from collections.abc import AsyncIterator, Callable, Collection, Iterator
from contextlib import asynccontextmanager, contextmanager, suppress
from typing import Any

import psycopg
from asgiref.sync import sync_to_async

from teamroom.common.embedded.errors import CannotServe
from teamroom.common.live.announcing import CHANNEL

FIRST_PAUSE, LONGEST_PAUSE = 0.1, 5.0
"""Seconds until a lost connection is tried again, doubled each time."""
QUIET = 30.0
"""Seconds without a word after which the connection is asked whether it still lives."""

log = logging.getLogger(__name__)


class Subscription:
    """What one stream has not sent yet: of each topic the latest edition. A slow reader makes it no longer."""

    def __init__(self) -> None:
        self.topics: set[str] = set()
        self._waiting: dict[str, int] = {}
        self._heard = asyncio.Event()

    def offer(self, topic: str, edition: int) -> None:
        # What was read from the table may be older than what was heard meanwhile.
        self._waiting[topic] = max(edition, self._waiting.get(topic, edition))
        self._heard.set()

    async def take(self) -> list[tuple[str, int]]:
        """All that has come, in the order in which each topic first moved; waits for it."""
        await self._heard.wait()
        self._heard.clear()
        taken, self._waiting = list(self._waiting.items()), {}
        return taken


class Hub:
    """Listens while there is somebody to tell. `parameters` gives the arguments of a connection; it may block."""

    def __init__(self, parameters: Callable[[], dict[str, Any]]) -> None:
        self._parameters = parameters
        self._subscriptions: dict[str, set[Subscription]] = defaultdict(set)
        self._listening = asyncio.Event()
        self._task: asyncio.Task[None] | None = None

    @contextmanager
    def subscribed(self, topics: Collection[str]) -> Iterator[Subscription]:
        """Hear of some topics, from the moment that `ready` says so. `person` stands for everybody's."""
        subscription = Subscription()
        for topic in topics:
            self.follow(subscription, topic)
        if self._task is None or self._task.done():
            self._task = asyncio.create_task(self._listen_for_ever())
        try:
            yield subscription
        finally:
            for topic in subscription.topics:
                self._subscriptions[topic].discard(subscription)
                if not self._subscriptions[topic]:
                    del self._subscriptions[topic]

    def follow(self, subscription: Subscription, topic: str) -> None:
        """Let a subscription hear of one more topic."""
        subscription.topics.add(topic)
        self._subscriptions[topic].add(subscription)

    async def ready(self, *, patience: float) -> bool:
        """Wait until the database is listened to; False if that takes longer than `patience` seconds."""
        with suppress(TimeoutError):
            await asyncio.wait_for(self._listening.wait(), patience)
        return self._listening.is_set()

    async def close(self) -> None:
        """Hang up."""
        if self._task is not None:
            self._task.cancel()
            with suppress(asyncio.CancelledError):
                await self._task

    async def _listen_for_ever(self) -> None:
        pause = FIRST_PAUSE
        while True:
            try:
                async with self._connection() as connection:
                    pause = FIRST_PAUSE
                    await self._listen(connection)
            except (psycopg.Error, OSError, CannotServe) as lost:
                # Once an outage: while it lasts, every try fails alike.
                log.log(logging.WARNING if pause == FIRST_PAUSE else logging.DEBUG, "Not listening: %s", lost)
            self._listening.clear()
            await asyncio.sleep(pause)
            pause = min(2 * pause, LONGEST_PAUSE)

    @asynccontextmanager
    async def _connection(self) -> AsyncIterator[psycopg.AsyncConnection[Any]]:
        # With an embedded database this may start it.
        parameters = await sync_to_async(self._parameters, thread_sensitive=False)()
        connection = await psycopg.AsyncConnection.connect(**parameters, autocommit=True)
        try:
            yield connection
        finally:
            await connection.close()

    async def _listen(self, connection: psycopg.AsyncConnection[Any]) -> None:
        await connection.execute(f"LISTEN {CHANNEL}")
        await self._fill(connection)
        self._listening.set()
        while True:
            async for heard in connection.notifies(timeout=QUIET):
                topic, _, edition = heard.payload.rpartition(" ")
                with suppress(ValueError):
                    self._tell(topic, int(edition))
            await connection.execute("SELECT 1")

    async def _fill(self, connection: psycopg.AsyncConnection[Any]) -> None:
        """Tell every stream where its topics stand: what was announced while nobody listened is among it."""
        topics = list(self._subscriptions)
        found = await connection.execute("SELECT name, edition FROM live_topic WHERE name = ANY(%s)", [topics])
        async for topic, edition in found:
            self._tell(topic, edition)

    def _tell(self, topic: str, edition: int) -> None:
        kind = topic.partition("-")[0]
        for subscription in self._subscriptions.get(topic, set()) | self._subscriptions.get(kind, set()):
            subscription.offer(topic, edition)
