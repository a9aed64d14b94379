"""One block edit over HTTP, against a control view in the same server that writes a row and notifies."""

import http.client
import re
import subprocess
import sys
import time
from itertools import count
from urllib.parse import urlencode

from scheduling.models import Block, Week
from teamroom.members.models import Member, SchoolRole
from teamroom.school_file.loading import load
from tests.bench.measures import Line, paired_ms
from tests.bench.school import school_of

PORT = 8731
CLASSROOMS = 100
ROUNDS = 150
PHRASE = "only for measuring here"


class Browser:
    """Just enough of one: a kept connection, cookies and the token that forms carry."""

    def __init__(self) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", PORT, timeout=30)
        self.cookies: dict[str, str] = {}

    def ask(self, method: str, path: str, fields: dict[str, object] | None = None) -> tuple[int, str]:
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        body = None
        if fields is not None:
            headers |= {"Content-Type": "application/x-www-form-urlencoded", "HX-Request": "true"}
            headers["X-CSRFToken"] = self.cookies.get("csrftoken", "")
            body = urlencode(fields)
        self.connection.request(method, path, body, headers)
        response = self.connection.getresponse()
        for name, value in response.getheaders():
            if name.lower() == "set-cookie":
                cookie, _, held = value.split(";")[0].partition("=")
                self.cookies[cookie] = held
        return response.status, response.read().decode()


def run() -> list[Line]:
    year = load(school_of(CLASSROOMS, seed=3) | {"school": {"name": "Edited school", "time_zone": "UTC"}}).year
    member = Member.objects.create_user("bench@school.example", PHRASE, name="Bench")
    SchoolRole.objects.create(school=year.school, member=member, role="administrator")
    week = Week.objects.filter(classroom__year=year).order_by("pk")[CLASSROOMS // 2]
    server = subprocess.Popen(  # noqa: S603 - our own server
        [sys.executable, "-m", "uvicorn", "teamroom.asgi:application", "--port", str(PORT), "--log-level", "error"]
    )
    try:
        return _measured(week)
    finally:
        server.terminate()
        server.wait(timeout=20)


def _measured(week: Week) -> list[Line]:
    browser = Browser()
    _sign_in(browser)
    status, page = browser.ask("GET", f"/classrooms/{week.classroom_id}/week/")
    shape = re.search(r'data-shape="([^"]*)"', page)
    if status != 200 or shape is None:
        raise AssertionError(f"the week's page answered {status}, with or without its shape")
    block = Block.objects.filter(column__week=week, column__day="mon").order_by("start").first()
    if block is None:
        raise AssertionError("the week has no block")
    place = f"mon:{block.column.kind_id}"
    longer = block.end
    revisions = {"block": block.revision, "week": week.revision}
    numbers = count(1_000_000)

    def edit() -> None:
        # What the page's own script sends when a block is dragged shorter or longer by five minutes.
        block.end = longer - 5 if block.end == longer else longer
        status, answer = browser.ask(
            "POST",
            f"/blocks/{block.pk}/move/",
            {
                "place": place,
                "start": f"{block.start // 60:02d}:{block.start % 60:02d}",
                "end": f"{block.end // 60:02d}:{block.end % 60:02d}",
                "revision": revisions["block"],
                "seen": revisions["week"],
                "shape": shape[1],
            },
        )
        if status != 200:
            raise AssertionError(f"the edit answered {status}: {answer[:300]}")
        revisions["week"] += 1
        revisions["block"] = revisions["week"]

    def control() -> None:
        status, _ = browser.ask("POST", f"/control/{week.pk}/", {"revision": next(numbers)})
        if status != 200:
            raise AssertionError(f"the control view answered {status}")

    edit_ms, control_ms = paired_ms(edit, control, times=ROUNDS)
    return [
        Line(
            "edit",
            "one block edit over HTTP, with the fragments it answers",
            edit_ms,
            edit_ms / control_ms,
            "the control view",
        ),
        Line("edit", "  control view: one row written, one notification", control_ms),
    ]


def _sign_in(browser: Browser) -> None:
    for _ in range(100):
        try:
            browser.ask("GET", "/sign-in/")
            break
        except ConnectionError:
            # The server needs a moment before it listens.
            time.sleep(0.1)
            browser.connection.close()
    browser.ask("POST", "/sign-in/", {"login": "bench@school.example", "password": PHRASE})
    if "sessionid" not in browser.cookies:
        raise AssertionError("signing in failed")
