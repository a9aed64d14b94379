"""A server of our own and just enough of a browser, for what is measured over HTTP."""

import http.client
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from urllib.parse import urlencode

from django.db import connection

from teamroom.dates.models import School
from teamroom.management.commands.launch import listen
from teamroom.members.models import Member, SchoolRole

PORT = 8731
ADDRESS = "bench@school.example"
PHRASE = "only for measuring here"


class Browser:
    """A kept connection, cookies and the token that forms carry. `location` is where the last answer sends one."""

    def __init__(self) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", PORT, timeout=120)
        self.cookies: dict[str, str] = {}
        self.location = ""

    def ask(
        self, method: str, path: str, fields: dict[str, object] | None = None, *, htmx: bool = True
    ) -> tuple[int, str]:
        headers = {"Cookie": self.cookie}
        body = None
        if fields is not None:
            headers |= {"Content-Type": "application/x-www-form-urlencoded"}
            headers |= {"HX-Request": "true"} if htmx else {}
            headers["X-CSRFToken"] = self.cookies.get("csrftoken", "")
            body = urlencode(fields)
        self.connection.request(method, path, body, headers)
        response = self.connection.getresponse()
        for name, value in response.getheaders():
            if name.lower() == "set-cookie":
                cookie, _, held = value.split(";")[0].partition("=")
                self.cookies[cookie] = held
        self.location = response.getheader("Location") or ""
        return response.status, response.read().decode()

    @property
    def cookie(self) -> str:
        return "; ".join(f"{name}={value}" for name, value in self.cookies.items())

    def sign_in(self) -> None:
        """Sign in as the administrator of the measured schools."""
        self.ask("GET", "/sign-in/")
        self.ask("POST", "/sign-in/", {"login": ADDRESS, "password": PHRASE})
        if "sessionid" not in self.cookies:
            raise AssertionError("signing in failed")


def administrator_of(school: School) -> Member:
    """The one person of all benchmarks, as administrator of one more school."""
    member = Member.objects.filter(email=ADDRESS).first()
    if member is None:
        member = Member.objects.create_user(ADDRESS, PHRASE, name="Bench")
    SchoolRole.objects.create(school=school, member=member, role="administrator")
    return member


@contextmanager
def serving(processes: int = 1, *, app: str = "teamroom.asgi:application", port: int = PORT) -> Iterator[None]:
    """The pages, or another ASGI application, served as they are when installed, by web processes at one socket."""
    with listen("127.0.0.1", port) as listening:
        told = [sys.executable, "-m", "uvicorn", app, "--fd", str(listening.fileno()), "--log-level", "critical"]
        told += ["--timeout-graceful-shutdown", "1"]
        environment = {**os.environ, "BARE_DATABASE": _database()}
        servers: list[subprocess.Popen[bytes]] = []
        try:
            for _ in range(processes):
                # Those before are held still meanwhile, so that it is this one that answers.
                _signalled(servers, signal.SIGSTOP)
                servers.append(
                    subprocess.Popen(told, env=environment, pass_fds=(listening.fileno(),))  # noqa: S603 - our own
                )
                _wait_until_it_answers(port)
            _signalled(servers, signal.SIGCONT)
            yield
        finally:
            _signalled(servers, signal.SIGCONT)
            _signalled(servers, signal.SIGTERM)
            for server in servers:
                server.wait(timeout=20)


def _signalled(servers: Iterable[subprocess.Popen[bytes]], number: signal.Signals) -> None:
    for server in servers:
        server.send_signal(number)


def _database() -> str:
    """How to connect to the measured database, for what knows no Django."""
    connection.ensure_connection()
    return f"{connection.connection.info.dsn} password={connection.connection.info.password}"


def _wait_until_it_answers(port: int) -> None:
    """A server needs a moment before it answers."""
    with socket.create_connection(("127.0.0.1", port), timeout=60) as asking:
        asking.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n")
        if not asking.recv(100).startswith(b"HTTP/1.1"):
            raise AssertionError("the server does not answer")
