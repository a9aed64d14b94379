"""Server-sent events over ASGI: what has changed of the topics that a page follows, numbers and nothing else.

https://html.spec.whatwg.org/multipage/server-sent-events.html is what browsers read it by.
"""

import asyncio
import json
import random
from collections.abc import Awaitable, Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from functools import lru_cache
from typing import NamedTuple
from urllib.parse import parse_qs

from asgiref.typing import ASGIReceiveCallable, ASGISendCallable, HTTPScope

from teamroom.common.live.announcing import PERSON
from teamroom.common.live.feed import Change, Feed, read_position
from teamroom.common.live.hub import Hub, Subscription

BEAT = 15.0
"""Seconds between signs of life: less than proxies take for dead, and how soon a reader who is gone is noticed."""
LONGEST = 600.0
"""Seconds a stream lives. The browser opens the next at once, and permission is asked anew."""
START_PATIENCE = 5.0
SEND_PATIENCE = 30.0
COME_AGAIN = 1000
"""Milliseconds until a browser that lost its stream opens another."""


class Opened(NamedTuple):
    """What the pages say of a request for a stream: a status; if it is 200, where its topics stand and the
    topic of the one who reads, at whose every change permission is asked anew."""

    status: int
    positions: Mapping[str, int]
    reader: str = ""


Ask = Callable[[HTTPScope], Awaitable[Opened]]
"""Whether somebody may follow the topics they ask for, and where those stand."""


class Streams:
    """The ASGI application under `/live/`."""

    def __init__(self, hub: Hub, ask: Ask) -> None:
        self._hub, self._ask = hub, ask

    async def __call__(self, scope: HTTPScope, receive: ASGIReceiveCallable, send: ASGISendCallable) -> None:
        if scope["method"] != "GET":
            await _refuse(send, 405, [(b"allow", b"GET")])
            return
        asked = parse_qs(scope["query_string"].decode("latin-1"))
        # First heard, then read where they stand: what changes in between is known twice, never missed.
        # Whose stream it is, the answer says; until then everybody's changes are heard.
        with self._hub.subscribed(dict.fromkeys([*asked.get("topic", ()), PERSON])) as subscription:
            if not await self._hub.ready(patience=START_PATIENCE):
                await _refuse(send, 503, [(b"retry-after", b"5")])
                return
            opened = await self._ask(scope)
            if opened.status != 200:
                await _refuse(send, opened.status)
                return
            self._hub.follow(subscription, opened.reader)
            since = read_position(_last_id(scope) or asked.get("since", [""])[0])
            await self._stream(scope, subscription, opened, since, receive, send)

    async def _stream(
        self,
        scope: HTTPScope,
        subscription: Subscription,
        opened: Opened,
        since: Mapping[str, int],
        receive: ASGIReceiveCallable,
        send: ASGISendCallable,
    ) -> None:
        feed = Feed(opened.positions, since)
        await _begin(send)
        first = [f"retry: {COME_AGAIN}\nevent: at\ndata: {json.dumps(feed.known)}\n\n"]
        first += _events(feed, opened.positions.items())
        await _write(send, "".join(first))
        gone = asyncio.ensure_future(_until_gone(receive))
        telling = asyncio.ensure_future(self._tell(scope, subscription, opened.reader, feed, send))
        try:
            # Not all at the same moment, or all would come again at the same moment.
            life = LONGEST * random.uniform(0.8, 1)  # noqa: S311 - chance, no secret
            await asyncio.wait({gone, telling}, timeout=life, return_when=asyncio.FIRST_COMPLETED)
        finally:
            for task in (gone, telling):
                task.cancel()
            await asyncio.gather(gone, telling, return_exceptions=True)
        if not gone.done() or gone.cancelled():
            with suppress(OSError, TimeoutError):
                async with asyncio.timeout(SEND_PATIENCE):
                    await send({"type": "http.response.body", "body": b"", "more_body": False})

    async def _tell(
        self, scope: HTTPScope, subscription: Subscription, reader: str, feed: Feed, send: ASGISendCallable
    ) -> None:
        """Write what is heard until the reader is gone, too slow to take it, or may no longer have it."""
        now, writing = asyncio.get_running_loop().time, False
        with suppress(OSError, TimeoutError):
            while True:
                with suppress(TimeoutError):
                    # One limit moved on at each turn: of many streams the last one waits for all before it.
                    async with asyncio.timeout(BEAT) as limit:
                        while True:
                            writing = False
                            heard = await subscription.take()
                            writing = True
                            limit.reschedule(now() + SEND_PATIENCE)
                            if reader in dict(heard) and (await self._ask(scope)).status != 200:
                                return
                            told = "".join(_events(feed, heard))
                            if told:
                                await _body(send, told)
                            limit.reschedule(now() + BEAT)
                if writing:
                    return
                await _write(send, ": still here\n\n")


def _events(feed: Feed, heard: Iterable[tuple[str, int]]) -> Iterator[str]:
    for topic, edition in heard:
        yield from map(_event, feed.moved(topic, edition))


@lru_cache(maxsize=256)
def _event(change: Change) -> str:
    """A change as it is written: mostly to many streams that stand at the same place."""
    data = json.dumps({"topic": change.topic, "edition": change.edition})
    return f"id: {change.position}\nevent: changed\ndata: {data}\n\n"


def _last_id(scope: HTTPScope) -> str:
    """Where a browser that comes again says it was."""
    return next((value.decode("latin-1") for name, value in scope["headers"] if name == b"last-event-id"), "")


async def _until_gone(receive: ASGIReceiveCallable) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass


async def _begin(send: ASGISendCallable) -> None:
    headers = [
        (b"content-type", b"text/event-stream; charset=utf-8"),
        (b"cache-control", b"no-store"),
        (b"x-accel-buffering", b"no"),
        (b"x-content-type-options", b"nosniff"),
    ]
    await send({"type": "http.response.start", "status": 200, "headers": headers, "trailers": False})


async def _write(send: ASGISendCallable, text: str) -> None:
    async with asyncio.timeout(SEND_PATIENCE):
        await _body(send, text)


async def _body(send: ASGISendCallable, text: str) -> None:
    await send({"type": "http.response.body", "body": text.encode(), "more_body": True})


async def _refuse(send: ASGISendCallable, status: int, headers: list[tuple[bytes, bytes]] | None = None) -> None:
    begin = [(b"cache-control", b"no-store"), (b"content-length", b"0"), *(headers or [])]
    await send({"type": "http.response.start", "status": status, "headers": begin, "trailers": False})
    await send({"type": "http.response.body", "body": b"", "more_body": False})
