"""A school in a browser: Chromium as the system has it, signed in, over a live server."""

import os
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.signals import request_finished, request_started
from django.db import connections, transaction
from django.test import Client
from playwright.sync_api import Browser, Page, sync_playwright

from scheduling.models import Block, FixedStretch, Reading, Week
from scheduling.services import compliance
from teamroom.common.clock import minutes_of
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, Member
from tests.factories import add, begin, make_classroom, make_rule, make_teacher, make_week, make_year

# Playwright's synchronous way runs an event loop of its own, which Django would take for our asynchronous code.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
ARGS = [
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PATIENCE = 8000
QUIET_LOOKS = 5
OpenPage = Callable[..., Page]


@dataclass
class World:
    """A classroom with a week, a few rules, and its teacher."""

    year: SchoolYear
    classroom: Classroom
    week: Week
    teacher: Member

    @property
    def url(self) -> str:
        return f"/classrooms/{self.classroom.pk}/week/"

    def block(self, activity: str, day: str = "mon") -> Block:
        return Block.objects.get(activity__key=activity, column__day=day, column__week=self.week)

    def readings(self) -> dict[tuple[str, int | None], tuple[Any, ...]]:
        rows = Reading.objects.filter(classroom=self.classroom).select_related("rule")
        return {(row.rule.key, row.part): (row.status, row.planned, row.required) for row in rows}

    def differs_from_scratch(self) -> bool:
        """Whether a recomputation that trusts nothing would change any reading."""
        with transaction.atomic():
            return bool(compliance.recompute(SchoolYear.objects.get(pk=self.year.pk), from_scratch=True))


DAY = (("08:00", "09:00", "reading"), ("09:00", "10:00", "math"), ("10:15", "11:00", "science"))


@pytest.fixture
def world(transactional_db: None) -> World:
    """Monday and Tuesday are planned: reading 8:00, math 9:00, science 10:15; lunch is fixed at noon."""
    year = make_year()
    classroom = make_classroom(year)
    teacher = make_teacher(classroom)
    activity = year.activities.get(key="lunch")
    for bell in year.bell_schedules.all():
        FixedStretch.objects.create(
            bell_schedule=bell, activity=activity, start=minutes_of("12:00"), end=minutes_of("12:30")
        )
    begin(year)
    year.refresh_from_db()
    week = make_week(classroom)
    add(week, teacher, *((day, *block) for day in ("mon", "tue") for block in DAY))
    make_rule(year, "math_week", {"pool": {"of": ["math"]}, "at_least": 120}, name="Mathematics in the week")
    make_rule(year, "science_week", {"pool": {"of": ["science"]}, "at_least": 90}, name="Science in the week")
    make_rule(
        year, "reading_day", {"pool": {"of": ["reading"]}, "recommended": 45, "window": "day"}, name="Reading each day"
    )
    return World(year, classroom, Week.objects.get(pk=week.pk), teacher)


@pytest.fixture(scope="session")
def browser(django_db_setup: None) -> Iterator[Browser]:
    """Chromium for the rest of the run, and with it Playwright's event loop in this thread.

    Django keeps connections apart by event loop. What tests open while the loop is there must be
    closed before it goes: afterwards nobody finds it, and it holds on to the test database.
    """
    if not Path(CHROMIUM).exists():
        pytest.skip(f"no Chromium at {CHROMIUM}")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGS)
        yield browser
        browser.close()
        connections.close_all()


@pytest.fixture
def all_answered(live_server: Any) -> Iterator[Callable[[], None]]:
    """Wait until every request is answered: one that outlived its test would find the database closed to it."""
    begun: list[object] = []
    ended: list[object] = []

    def began(sender: object, **rest: Any) -> None:
        begun.append(sender)

    def finished(sender: object, **rest: Any) -> None:
        ended.append(sender)

    def wait() -> None:
        give_up = time.monotonic() + PATIENCE / 1000
        quiet = 0
        while quiet < QUIET_LOOKS and time.monotonic() < give_up:
            quiet = quiet + 1 if len(begun) == len(ended) else 0
            time.sleep(0.01)  # a page that is left says farewell; there is nothing to wait on but the server's threads

    request_started.connect(began)
    request_finished.connect(finished)
    yield wait
    request_started.disconnect(began)
    request_finished.disconnect(finished)


@pytest.fixture
def open_page(browser: Browser, live_server: Any, all_answered: Callable[[], None]) -> Iterator[OpenPage]:
    """Open an address signed in as a member; whatever a page's scripts throw fails the test."""
    contexts: list[Any] = []
    faults: list[str] = []

    def opened(path: str, member: Member | None = None, **how: Any) -> Page:
        context = browser.new_context(**{"viewport": {"width": 1280, "height": 800}, **how})
        context.set_default_timeout(PATIENCE)
        contexts.append(context)
        if member is not None:
            client = Client()
            client.force_login(member)
            session = client.cookies[settings.SESSION_COOKIE_NAME].value
            context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": session, "url": live_server.url}])
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda message: faults.append(message.text) if "Content Security" in message.text else None)
        page.goto(f"{live_server.url}{path}")
        return page

    yield opened
    for context in contexts:
        context.close()
    all_answered()
    assert faults == []
