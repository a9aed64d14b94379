"""A server of our own and just enough of a browser, for what is measured over HTTP."""

import http.client
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import urlencode

from teamroom.dates.models import School
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
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
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

    def sign_in(self) -> None:
        """Sign in as the administrator of the measured schools, as soon as the server listens."""
        for _ in range(100):
            try:
                self.ask("GET", "/sign-in/")
                break
            except ConnectionError:
                # The server needs a moment before it listens.
                time.sleep(0.1)
                self.connection.close()
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
def serving() -> Iterator[None]:
    """The pages, served as they are when installed, in a process of their own."""
    server = subprocess.Popen(  # noqa: S603 - our own server
        [sys.executable, "-m", "uvicorn", "teamroom.asgi:application", "--port", str(PORT), "--log-level", "error"]
    )
    try:
        yield
    finally:
        server.terminate()
        server.wait(timeout=20)
