"""Undo, redo, reasons, the history and putting a week back, by keyboard alone."""

import re
from typing import Any

from django.urls import reverse
from playwright.sync_api import Page, expect

from scheduling.models import WeekChange
from tests.factories import add, make_teacher
from tests.web.conftest import OpenPage, World
from tests.web.looks import faults, fits, sizes

SAID = "#said"


def tab_to(page: Page, name: str) -> None:
    """Press Tab until what has the focus is called so, as somebody without a mouse does."""
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent.trim()").startswith(name):
            return
    raise AssertionError(f"Tab never came to {name}")


def test_edit_undo_redo_say_why_and_put_back_by_keys_alone(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher)
    started = world.block("science").start
    page.locator("#mon .block:has-text('Science') a").focus()
    page.keyboard.down("Alt")
    for _ in range(3):
        page.keyboard.press("ArrowDown")
    page.keyboard.up("Alt")
    expect(page.locator(SAID)).to_contain_text("Science moved to Mon 10:30.")
    page.keyboard.press("u")
    expect(page.locator(SAID)).to_contain_text("Undone: Science is back on Mon")
    expect(page.get_by_role("button", name="Do it again")).to_be_visible()
    expect(page.locator("#mon .block:has-text('Science') a")).to_be_focused()
    page.keyboard.press("Shift+U")
    expect(page.locator(SAID)).to_contain_text("Done again: Science is on Mon 10:30\N{EN DASH}11:15.")
    assert world.block("science").start == started + 15

    tab_to(page, "Say why")
    page.keyboard.press("Enter")
    expect(page.get_by_label("Why", exact=True)).to_be_focused()
    assert faults(page) == []
    page.keyboard.type("The cart is here at half past")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator(SAID)).to_contain_text("The reason is kept with the change.")
    expect(page.locator("#undo a")).to_be_focused()
    assert WeekChange.objects.get(reason="The cart is here at half past").deed == "redo"

    page.goto(re.sub(r"/classrooms/.*", reverse("scheduling:week-history", args=[world.week.pk]), page.url))
    expect(page.locator(".trail-entries")).to_contain_text("Why: The cart is here at half past")
    expect(page.locator(".trail-entries s")).to_have_count(0)
    tab_to(page, "The week before this: Undid: Science")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="What would change")).to_have_count(0)
    expect(page.get_by_role("alert")).to_contain_text("nothing to put back")
    page.go_back()
    tab_to(page, "The week before this: Math")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="What would change")).to_be_visible()
    page.keyboard.press("Tab")
    tab_to(page, "Put the week back")
    page.keyboard.press("Enter")
    expect(page.locator(SAID)).to_contain_text("Put the week back as Olive left it on")
    # The page is a new one: its keys are there once its scripts are.
    expect(page.locator("#open-keys")).to_be_visible()
    page.locator("#week-grid .block a").first.focus()
    page.keyboard.press("u")
    expect(page.locator(SAID)).to_contain_text("blocks are as they were before it.")
    assert not world.differs_from_scratch()


def test_an_open_history_tells_what_a_colleague_changes(open_page: OpenPage, world: World) -> None:
    page = open_page(reverse("scheduling:week-history", args=[world.week.pk]), world.teacher)
    expect(page.locator(".trail-entries")).to_contain_text("Science added on Tue")
    page.get_by_label("Put back as it was").focus()
    add(world.week, make_teacher(world.classroom, "Ben"), ("thu", "08:00", "09:00", "art"))
    expect(page.locator(".trail-entries")).to_contain_text("Art added on Thu 8:00", timeout=20_000)
    expect(page.get_by_label("Put back as it was")).to_be_focused()


@sizes
def test_axe_finds_nothing_on_the_pages_of_the_history(open_page: OpenPage, world: World, size: dict[str, Any]) -> None:
    change = WeekChange.objects.filter(week=world.week).order_by("-revision")[0]
    history, back = (reverse(f"scheduling:week-{name}", args=[world.week.pk]) for name in ("history", "restore"))
    paths = [history, f"{history}?block=1", back, f"{back}?revision=2", f"{back}?revision={change.revision}"]
    page = open_page(world.url, world.teacher, **size)
    base = page.url.removesuffix(world.url)
    found = {}
    for path in [*paths, reverse("scheduling:change-reason", args=[change.pk])]:
        page.goto(f"{base}{path}")
        found[path] = faults(page) + ([] if fits(page) else ["wider than the screen"])
    assert {path: some for path, some in found.items() if some} == {}
