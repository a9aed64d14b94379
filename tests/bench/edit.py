"""One block edit over HTTP, against a control view in the same server that writes a row and notifies."""

import re
from collections.abc import Iterator
from itertools import count
from urllib.parse import urlencode

from scheduling.models import Block, Week
from teamroom.common.live.announcing import classroom_topic, year_topic
from teamroom.school_file.loading import load
from tests.bench.browser import PORT, Browser, administrator_of, serving
from tests.bench.measures import Line, paired_ms
from tests.bench.reader import Request, reading
from tests.bench.school import school_of

CLASSROOMS = 100
ROUNDS = 150
WITH = ((1, 0), (1, 50), (2, 50))
"""Web processes and open streams."""


def run() -> list[Line]:
    year = load(school_of(CLASSROOMS, seed=3) | {"school": {"name": "Edited school", "time_zone": "UTC"}}).year
    administrator_of(year.school)
    week = Week.objects.filter(classroom__year=year).order_by("pk")[CLASSROOMS // 2]
    numbers = count(1)
    return [line for processes, streams in WITH for line in _measured(week, numbers, processes, streams)]


def _measured(week: Week, numbers: Iterator[int], processes: int, streams: int) -> list[Line]:
    """An edit and the control in turn while streams follow what either announces: the classroom and its year."""
    topics = [classroom_topic(week.classroom_id), year_topic(week.classroom.year_id)]
    with serving(processes):
        browser = Browser()
        browser.sign_in()
        path = "/live/?" + urlencode([("topic", topic) for topic in topics])
        with reading({"followed": Request(PORT, path, browser.cookie, streams)}):
            edit_ms, control_ms = _in_turn(browser, week, numbers)
    beside = f"{streams} open streams, {processes} web process{'es' if processes > 1 else ''}"
    return [
        Line("edit", f"one block edit over HTTP, {beside}", edit_ms, edit_ms / control_ms, "the control view"),
        Line("edit", "  control view: one row written, one notification", control_ms),
    ]


def _in_turn(browser: Browser, week: Week, numbers: Iterator[int]) -> tuple[float, float]:
    week.refresh_from_db()
    status, page = browser.ask("GET", f"/classrooms/{week.classroom_id}/week/")
    shape = re.search(r'data-shape="([^"]*)"', page)
    if status != 200 or shape is None:
        raise AssertionError(f"the week's page answered {status}, with or without its shape")
    block = Block.objects.filter(column__week=week, column__day="mon").order_by("start").first()
    if block is None:
        raise AssertionError("the week has no block")
    year = year_topic(week.classroom.year_id)
    place = f"mon:{block.column.kind_id}"
    longer = block.end
    revisions = {"block": block.revision, "week": week.revision}

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
        status, _ = browser.ask("POST", f"/control/{week.pk}/", {"number": next(numbers), "topic": year})
        if status != 200:
            raise AssertionError(f"the control view answered {status}")

    return paired_ms(edit, control, times=ROUNDS)
