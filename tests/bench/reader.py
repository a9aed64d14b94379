"""Many open streams read by one process that does nothing else: when did which event arrive at how many.

It is told on its standard input, one JSON line, the port and the requests to open by name; it says
`ready` once all are open, and when its input ends it prints, by name and number, the moments
(nanoseconds of the machine's monotonic clock, which all processes share) at which each stream had it.
"""

import asyncio
import json
import re
import subprocess
import sys
import threading
import time
from collections import defaultdict
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field

NUMBER = re.compile(rb'"edition": (\d+)')
AT_ONCE = 20
Moments = dict[str, dict[str, list[int]]]


@dataclass
class Request:
    """Streams to open alike: where, what is asked, with what cookie, and how many of them."""

    port: int
    path: str
    cookie: str
    streams: int

    def __str__(self) -> str:
        return f"GET {self.path} HTTP/1.1\r\nHost: 127.0.0.1\r\nCookie: {self.cookie}\r\n\r\n"


@dataclass
class Reading:
    """Streams being read. `moments` is there once the reading is over."""

    moments: Moments = field(default_factory=dict)


@contextmanager
def reading(requests: Mapping[str, Request]) -> Iterator[Reading]:
    """Keep streams open in a process of their own, and say at the end what came when."""
    told = {name: (request.port, str(request), request.streams) for name, request in requests.items()}
    reader = subprocess.Popen(
        [sys.executable, "-m", "tests.bench.reader"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    if reader.stdin is None or reader.stdout is None:
        raise AssertionError("the reader has no pipes")
    found = Reading()
    try:
        reader.stdin.write(json.dumps(told) + "\n")
        reader.stdin.flush()
        if (said := reader.stdout.readline().strip()) != "ready":
            raise AssertionError(f"the reader said {said!r}")
        yield found
        reader.stdin.close()
        found.moments = json.loads(reader.stdout.read())
    finally:
        reader.kill()
        reader.wait()


class Stream(asyncio.Protocol):
    """One open stream; an event is never longer than what arrives at once."""

    def __init__(self, request: str, moments: dict[str, list[int]]) -> None:
        self._request, self._moments = request, moments
        self.first = asyncio.get_running_loop().create_future()

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        if isinstance(transport, asyncio.WriteTransport):
            transport.write(self._request.encode())

    def data_received(self, data: bytes) -> None:
        now = time.monotonic_ns()
        if not self.first.done():
            if not data.startswith(b"HTTP/1.1 200"):
                self.first.set_exception(AssertionError(f"a stream was answered {data[:60]!r}"))
                return
            self.first.set_result(None)
        for number in NUMBER.findall(data):
            self._moments[number.decode()].append(now)

    def connection_lost(self, exc: Exception | None) -> None:
        if not self.first.done():
            self.first.set_exception(AssertionError("a stream ended before it began"))


async def read(told: Mapping[str, tuple[int, str, int]]) -> Moments:
    loop = asyncio.get_running_loop()
    gate = asyncio.Semaphore(AT_ONCE)
    moments: dict[str, dict[str, list[int]]] = {name: defaultdict(list) for name in told}

    async def opened(name: str, port: int, request: str) -> None:
        async with gate:
            _, stream = await loop.create_connection(lambda: Stream(request, moments[name]), "127.0.0.1", port)
            await stream.first

    await asyncio.gather(
        *(opened(name, port, request) for name, (port, request, streams) in told.items() for _ in range(streams))
    )
    sys.stdout.write("ready\n")
    sys.stdout.flush()
    over = asyncio.Event()
    threading.Thread(target=lambda: (sys.stdin.read(), loop.call_soon_threadsafe(over.set)), daemon=True).start()
    await over.wait()
    return moments


if __name__ == "__main__":
    sys.stdout.write(json.dumps(asyncio.run(read(json.loads(sys.stdin.readline())))))
