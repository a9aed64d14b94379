"""The real web server over the tests' database, and readers of its streams."""

import asyncio
import json
import os
import socket
import subprocess
import sys
import time
from collections.abc import AsyncIterator, Coroutine, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar
from urllib.parse import quote, urlencode

from django.conf import settings
from django.db import connection
from django.test import Client

from teamroom.management.commands.launch import listen
from teamroom.members.models import Member

Answer = TypeVar("Answer")
PROJECT = Path(__file__).resolve().parents[2]
PATIENCE = 30.0
SERVER = """
import sys
import django
django.setup()
from django.db import connection
connection.settings_dict["NAME"] = sys.argv[1]
# Tests gather no static files; these are served as while developing.
from django.contrib.staticfiles.handlers import StaticFilesHandler
import teamroom.wsgi
teamroom.wsgi.application = StaticFilesHandler(teamroom.wsgi.application)
import uvicorn
uvicorn.run("teamroom.asgi:application", fd=int(sys.argv[2]), log_level="error")
"""


@dataclass(frozen=True)
class Server:
    port: int
    process: subprocess.Popen[bytes]


@contextmanager
def a_server(listening: socket.socket | None = None) -> Iterator[Server]:
    """A web process of its own; several may share one listening socket."""
    ours = listening or listen("127.0.0.1", 0)
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings"}
    server = subprocess.Popen(
        [sys.executable, "-c", SERVER, str(connection.settings_dict["NAME"]), str(ours.fileno())],
        cwd=PROJECT,
        env=environment,
        pass_fds=(ours.fileno(),),
    )
    try:
        yield Server(ours.getsockname()[1], server)
    finally:
        server.terminate()
        try:
            server.wait(timeout=10)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait()
        if listening is None:
            ours.close()


def session_of(member: Member) -> str:
    """The cookie of somebody who has signed in."""
    client = Client()
    client.force_login(member)
    return f"{settings.SESSION_COOKIE_NAME}={client.cookies[settings.SESSION_COOKIE_NAME].value}"


class Reader:
    """One open stream, as a browser reads it."""

    def __init__(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._reader, self._writer = reader, writer
        self.status = 0
        self.headers: dict[str, str] = {}
        self.last_id = ""

    async def begin(self) -> None:
        head = (await asyncio.wait_for(self._reader.readuntil(b"\r\n\r\n"), PATIENCE)).decode()
        first, *rest = head.strip().split("\r\n")
        self.status = int(first.split()[1])
        self.headers = {name.lower(): value for name, _, value in (line.partition(": ") for line in rest)}

    async def event(self, *, patience: float = PATIENCE) -> tuple[str, dict[str, int | str]]:
        """The next event's name and data; comments are passed over. Raises TimeoutError, or EOFError at the end."""
        async with asyncio.timeout(patience):
            found: dict[str, str] = {}
            while True:
                line = await self._line()
                if line.startswith("id: "):
                    self.last_id = line[4:]
                if line and not line.startswith(":"):
                    name, _, value = line.partition(": ")
                    found[name] = value
                elif not line and "data" in found:
                    return found.get("event", ""), json.loads(found["data"])

    async def _line(self) -> str:
        """A line of the body. An event is never longer than a chunk, so the lengths between may be read as lines."""
        while True:
            raw = await self._reader.readline()
            if not raw:
                raise EOFError
            line = raw.decode().rstrip("\r\n")
            if raw.endswith(b"\r\n"):
                if line == "0":
                    raise EOFError
                continue  # a chunk's length, or the end of a chunk
            return line

    def cut(self) -> None:
        """Drop the connection as a network does, without a word."""
        self._writer.transport.abort()


@asynccontextmanager
async def a_stream(
    port: int, cookie: str, topics: list[str], *, since: str = "", last_id: str = "", method: str = "GET"
) -> AsyncIterator[Reader]:
    asked = urlencode([("topic", topic) for topic in topics])
    asked += f"&since={quote(since)}" if since else ""
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    lines = [f"{method} /live/?{asked} HTTP/1.1", "Host: localhost", f"Cookie: {cookie}"]
    lines += [f"Last-Event-ID: {last_id}"] if last_id else []
    writer.write(("\r\n".join(lines) + "\r\n\r\n").encode())
    stream = Reader(reader, writer)
    try:
        await stream.begin()
        yield stream
    finally:
        writer.transport.abort()


def played(story: Coroutine[Any, Any, Answer]) -> Answer:
    """What comes of a story, played in a thread of its own: in this one a browser's event loop may run."""
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(asyncio.run, story).result()


def wait_until_it_answers(server: Server) -> None:
    give_up = time.monotonic() + PATIENCE
    while time.monotonic() < give_up:
        with socket.create_connection(("127.0.0.1", server.port)) as asking:
            asking.settimeout(PATIENCE)
            asking.sendall(b"GET /live/ HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
            if b"HTTP/1.1" in asking.recv(100):
                return
    raise AssertionError("the server does not answer")
