"""One block edit over HTTP, against a control view in the same server that writes a row and notifies."""

import re
from itertools import count

from scheduling.models import Block, Week
from teamroom.school_file.loading import load
from tests.bench.browser import Browser, administrator_of, serving
from tests.bench.measures import Line, paired_ms
from tests.bench.school import school_of

CLASSROOMS = 100
ROUNDS = 150


def run() -> list[Line]:
    year = load(school_of(CLASSROOMS, seed=3) | {"school": {"name": "Edited school", "time_zone": "UTC"}}).year
    administrator_of(year.school)
    week = Week.objects.filter(classroom__year=year).order_by("pk")[CLASSROOMS // 2]
    with serving():
        return _measured(week)


def _measured(week: Week) -> list[Line]:
    browser = Browser()
    browser.sign_in()
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
