"""Closing a day over HTTP in a school of 40 classrooms; and in one of 1,000, while others work on.

The small school's preview and yes are each a form sent and the page it leads to, against the
control view that writes a row. In the big one the background work runs in a process of its own,
while one person edits a week of the same year and another reads a page of another school.
"""

import datetime as dt
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from itertools import count
from typing import NamedTuple, TypeVar

from django.db import connection

from scheduling.models import Block, CalendarWork, Week
from scheduling.services.deeds import Close, Deed
from scheduling.services.prepared import carry_out, prepare
from teamroom.dates.models import SchoolYear
from teamroom.school_file.loading import load
from tests.bench.browser import Browser, administrator_of, serving
from tests.bench.measures import Line, paired_ms
from tests.bench.school import school_of

SMALL, BIG = 40, 1000
ROUNDS = 12
DATE = dt.date(2026, 10, 14)
Result = TypeVar("Result")
WORKER = "from scheduling.tasks import do_calendar_work; do_calendar_work()"


def run() -> list[Line]:
    small, big = (_year(classrooms) for classrooms in (SMALL, BIG))
    with serving():
        return [*_small(small), *_big(big, small)]


def _year(classrooms: int) -> SchoolYear:
    school = {"name": f"Closed school of {classrooms}", "time_zone": "UTC"}
    year = load(school_of(classrooms, seed=5) | {"school": school}).year
    administrator_of(year.school)
    return year


def _small(year: SchoolYear) -> list[Line]:
    browser = Browser()
    browser.sign_in()
    numbers = count(1_000_000)
    week = Week.objects.filter(classroom__year=year).order_by("pk")[0]
    preview = ""

    def previewed() -> None:
        nonlocal preview
        preview = _send(browser, f"{_calendar(year)}{DATE}/close/", {"name": "Storm", "first_day": DATE})

    def yes() -> None:
        _send(browser, f"{_send(browser, f'{preview}yes/', {}, follow=False)}undo/", {}, follow=False)

    def control() -> None:
        status, _ = browser.ask("POST", f"/control/{week.pk}/", {"revision": next(numbers)})
        if status != 200:
            raise AssertionError(f"the control view answered {status}")

    def both() -> None:
        previewed()
        yes()

    preview_ms, control_ms = paired_ms(previewed, control, times=ROUNDS)
    all_ms, _ = paired_ms(both, control, times=ROUNDS)
    yes_ms = (all_ms - preview_ms) / 2
    against = "the control view"
    return [
        Line(
            "calendar",
            f"closing a day for {SMALL} classrooms: preview and its page",
            preview_ms,
            preview_ms / control_ms,
            against,
        ),
        Line(
            "calendar",
            f"closing a day for {SMALL} classrooms: yes (half of yes and undo)",
            yes_ms,
            yes_ms / control_ms,
            against,
        ),
        Line("calendar", "  control view: one row written, one notification", control_ms),
    ]


def _big(year: SchoolYear, other: SchoolYear) -> list[Line]:
    lines = _worked_out(year)
    browser, reader = Browser(), Browser()
    browser.sign_in()
    reader.sign_in()
    edit, read = _edit(browser, year), _read(reader, other)
    edit_ms, read_ms = (statistics.median(_timed(act)[1] for _ in range(20)) for act in (edit, read))
    form = {"name": "Storm", "first_day": DATE}
    preview, asking_ms = _timed(lambda: _send(browser, f"{_calendar(year)}{DATE}/close/", form))
    while_previewed = _meanwhile(edit, read)
    yes = _send(browser, f"{preview}yes/", {}, follow=False)
    while_done = _meanwhile(edit, read)
    if CalendarWork.objects.get(pk=int(yes.rstrip("/").rpartition("/")[2])).state != "done":
        raise AssertionError("the big closing was not done")
    return [
        *lines,
        Line("calendar", "  asked for over HTTP, with the page that shows progress", asking_ms),
        Line("calendar", "  preview in the background, the process's start included", while_previewed.work),
        Line("calendar", "  closing in the background, the process's start included", while_done.work),
        Line("calendar", "an edit of a week in the same year, quiet", edit_ms),
        *_slowed("while the preview is worked out", while_previewed.edits, edit_ms),
        *_slowed("while the closing is done", while_done.edits, edit_ms),
        Line("calendar", "a page of another school, quiet", read_ms),
        *_slowed("meanwhile", while_previewed.reads + while_done.reads, read_ms),
    ]


def _worked_out(year: SchoolYear) -> list[Line]:
    """Working out and writing a closing in this process; it is taken back."""
    deed: Deed = Close(DATE, DATE, "Storm")
    locked = 0.0

    def do(held: SchoolYear) -> Deed:
        nonlocal locked
        locked = time.perf_counter()
        return deed.do(held)

    ready, prepare_ms = _timed(lambda: prepare(year, lambda: deed.do(year)))
    (undo, _), carry_ms = _timed(lambda: carry_out(ready, do))
    locked_ms = (time.perf_counter() - locked) * 1000
    carry_out(prepare(year, lambda: undo.do(year)), undo.do)
    what = f"closing a day for {BIG} classrooms"
    return [
        Line("calendar", f"{what}: worked out, nothing locked", prepare_ms),
        Line("calendar", f"{what}: laid ready and written", carry_ms, carry_ms / prepare_ms, "working out"),
        Line("calendar", f"{what}: of that the year is locked", locked_ms, locked_ms / prepare_ms, "working out"),
    ]


def _slowed(when: str, taken: list[float], quiet: float) -> list[Line]:
    found = {"median": statistics.median(taken), "slowest": max(taken)}
    return [Line("calendar", f"  {when}: {which}", ms, ms / quiet, "the same, quiet") for which, ms in found.items()]


class Meanwhile(NamedTuple):
    """Milliseconds that each edit and each read took while the worker worked, and that it worked."""

    edits: list[float]
    reads: list[float]
    work: float


def _meanwhile(edit: Callable[[], None], read: Callable[[], None]) -> Meanwhile:
    """Edit and read, over and over, while a worker does what waits."""
    worker = subprocess.Popen([sys.executable, "manage.py", "shell", "-v", "0", "-c", WORKER])  # noqa: S603 - our own program
    started = time.perf_counter()
    found = Meanwhile([], [], 0.0)

    def reading() -> None:
        while worker.poll() is None:
            found.reads.append(_timed(read)[1])

    thread = threading.Thread(target=reading)
    thread.start()
    while worker.poll() is None:
        found.edits.append(_timed(edit)[1])
    thread.join()
    if worker.returncode:
        raise AssertionError("the worker failed")
    return found._replace(work=(time.perf_counter() - started) * 1000)


def _edit(browser: Browser, year: SchoolYear) -> Callable[[], None]:
    """Lengthen and shorten one block of the year, as its form does."""
    block = Block.objects.filter(column__week__classroom__year=year, column__day="mon").order_by("pk")[0]
    place, longer = f"mon:{block.column.kind_id}", block.end
    connection.close()

    def edit() -> None:
        block.refresh_from_db(fields=["revision"])
        block.end = longer - 5 if block.end == longer else longer
        fields = {"place": place, "start": _clock(block.start), "end": _clock(block.end), "revision": block.revision}
        status, answer = browser.ask("POST", f"/blocks/{block.pk}/move/", fields)
        if status != 200:
            raise AssertionError(f"the edit answered {status}: {answer[:300]}")

    return edit


def _read(browser: Browser, year: SchoolYear) -> Callable[[], None]:
    def read() -> None:
        status, _ = browser.ask("GET", _calendar(year))
        if status != 200:
            raise AssertionError(f"the page answered {status}")

    return read


def _send(browser: Browser, path: str, fields: dict[str, object], *, follow: bool = True) -> str:
    """Send a form, and fetch the page it leads to; that page's address."""
    status, answer = browser.ask("POST", path, fields, htmx=False)
    if status != 302:
        raise AssertionError(f"{path} answered {status}: {answer[:300]}")
    there = browser.location
    if follow:
        status, _ = browser.ask("GET", there)
        if status != 200:
            raise AssertionError(f"{there} answered {status}")
    return there


def _calendar(year: SchoolYear) -> str:
    return f"/years/{year.pk}/calendar/"


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _timed(act: Callable[[], Result]) -> tuple[Result, float]:
    started = time.perf_counter()
    result = act()
    return result, (time.perf_counter() - started) * 1000
