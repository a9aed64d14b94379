"""Two people at one week, each in a browser of their own: both see what the other does, and neither is disturbed."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, Page, expect

from scheduling.models import Block
from teamroom.common.embedded import lease
from teamroom.members.models import Member
from tests.factories import make_teammate
from tests.live.serving import Server, a_server, wait_until_it_answers
from tests.web.conftest import PATIENCE, OpenPage, World
from tests.web.test_pages_in_a_browser import faults

At = Callable[..., Page]
SOON = 5000


@pytest.fixture
def colleague(world: World) -> Member:
    """Somebody who may edit the same week."""
    return make_teammate(world.classroom.team, "Lena", "lead")


@pytest.fixture
def server(world: World, colleague: Member) -> Iterator[Server]:
    with a_server() as server:
        wait_until_it_answers(server)
        yield server


@pytest.fixture
def at(browser: Browser, server: Server) -> Iterator[At]:
    """Open an address of the real server, with its streams, signed in as a member."""
    contexts: list[Any] = []

    def opened(path: str, member: Member, **how: Any) -> Page:
        context = browser.new_context(**{"viewport": {"width": 1280, "height": 800}, **how})
        context.set_default_timeout(PATIENCE)
        contexts.append(context)
        client = Client()
        client.force_login(member)
        url = f"http://127.0.0.1:{server.port}"
        cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
        context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": url}])
        page = context.new_page()
        with page.expect_request("**/live/?*"):
            page.goto(f"{url}{path}")
        return page

    yield opened
    for context in contexts:
        context.close()


def cell(page: Page, block: Block) -> Any:
    return page.locator(f".cell[data-pk='{block.pk}']")


def longer(page: Page, block: Block, times: int = 3) -> None:
    """Make a block longer by keys, fifteen minutes unless told."""
    cell(page, block).locator("a").focus()
    for _ in range(times):
        page.keyboard.press("Shift+ArrowDown")


def test_what_one_does_the_other_sees_without_reloading(world: World, colleague: Member, at: At) -> None:
    mine, theirs = at(world.url, world.teacher), at(world.url, colleague)
    math, reading = world.block("math"), world.block("reading")
    longer(mine, math)
    expect(cell(theirs, math)).to_have_attribute("data-length", "75", timeout=SOON)
    expect(theirs.locator("#meanwhile")).to_contain_text("Olive: Math on Mon is now 75 minutes", timeout=SOON)
    expect(theirs.locator("#ledger")).to_contain_text("planned 2 h 15", use_inner_text=True)
    cell(theirs, reading).locator("a").focus()
    theirs.keyboard.press("Delete")
    expect(cell(mine, reading)).to_have_count(0, timeout=SOON)
    expect(mine.locator("#meanwhile")).to_contain_text("Lena: Reading on Mon 8:00–9:00 removed", timeout=SOON)
    assert not world.differs_from_scratch()
    assert faults(mine) == []


def test_focus_and_scroll_stay_where_they_are(world: World, colleague: Member, at: At) -> None:
    mine = at(world.url, world.teacher, viewport={"width": 1280, "height": 400})
    theirs = at(world.url, colleague)
    math, science = world.block("math"), world.block("science")
    cell(mine, science).locator("a").focus()
    mine.evaluate("scrollTo(0, 120)")
    longer(theirs, math)
    expect(cell(mine, math)).to_have_attribute("data-length", "75", timeout=SOON)
    assert mine.evaluate("document.activeElement.closest('.cell')?.dataset.pk") == str(science.pk)
    assert mine.evaluate("scrollY") == 120
    mine.keyboard.press("ArrowUp")
    assert mine.evaluate("document.activeElement.closest('.cell')?.dataset.pk") != str(science.pk)


def test_an_open_form_keeps_what_was_typed_and_says_that_the_block_has_changed(
    world: World, colleague: Member, at: At
) -> None:
    mine, theirs = at(world.url, world.teacher), at(world.url, colleague)
    math = world.block("math")
    cell(mine, math).locator("a").click()
    why = mine.locator("#panel textarea[name=why]")
    why.fill("before the aide leaves")
    longer(theirs, math)
    notice = mine.locator("#panel .meanwhile-notice")
    expect(notice).to_contain_text("Lena: Math on Mon is now 75 minutes", timeout=SOON)
    assert why.input_value() == "before the aide leaves"
    assert mine.evaluate("document.activeElement.name") == "why"
    assert faults(mine) == []


def test_a_block_in_hand_is_not_torn_away(world: World, colleague: Member, at: At) -> None:
    mine, theirs = at(world.url, world.teacher), at(world.url, colleague)
    math, science = world.block("math"), world.block("science")
    box = cell(mine, science).bounding_box()
    assert box is not None
    mine.mouse.move(box["x"] + 20, box["y"] + 10)
    mine.mouse.down()
    mine.mouse.move(box["x"] + 20, box["y"] + 60, steps=5)
    longer(theirs, math)
    expect(cell(theirs, math)).to_have_attribute("data-length", "75", timeout=SOON)
    mine.wait_for_timeout(600)
    assert "held" in (cell(mine, science).get_attribute("class") or "")
    expect(cell(mine, math)).to_have_attribute("data-length", "60")
    mine.mouse.up()
    expect(cell(mine, math)).to_have_attribute("data-length", "75", timeout=SOON)
    assert Block.objects.get(pk=science.pk).start > science.start


def test_where_no_stream_can_be_kept_the_page_asks_every_few_seconds(
    world: World, colleague: Member, open_page: OpenPage
) -> None:
    """The plain server of these tests has no streams."""
    mine, theirs = open_page(world.url, world.teacher), open_page(world.url, colleague)
    math = world.block("math")
    longer(mine, math)
    expect(cell(theirs, math)).to_have_attribute("data-length", "75", timeout=12_000)


def test_a_page_out_of_sight_holds_no_stream_and_catches_up_when_it_is_looked_at(
    world: World, colleague: Member, at: At
) -> None:
    mine, theirs = at(world.url, world.teacher), at(world.url, colleague)
    math = world.block("math")
    hide = "Object.defineProperty(document, 'visibilityState', {value: %r, configurable: true});"
    hide += "document.dispatchEvent(new Event('visibilitychange'))"
    theirs.evaluate(hide % "hidden")
    longer(mine, math)
    expect(cell(mine, math)).to_have_attribute("data-length", "75", timeout=SOON)
    theirs.wait_for_timeout(800)
    expect(cell(theirs, math)).to_have_attribute("data-length", "60")
    theirs.evaluate(hide % "visible")
    expect(cell(theirs, math)).to_have_attribute("data-length", "75", timeout=SOON)


def test_each_sees_that_the_other_is_there_and_on_which_day(world: World, colleague: Member, at: At) -> None:
    lease.take(Path(os.environ["TEAMROOM_DATA"]), "valkey")
    mine = at(world.url, world.teacher)
    theirs = at(world.url, colleague)
    expect(theirs.locator("#here")).to_have_text("Also here: Olive", timeout=SOON)
    cell(theirs, world.block("math", "tue")).locator("a").focus()
    mine.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(mine.locator("#here")).to_have_text("Also here: Lena on Tuesday", timeout=SOON)
    theirs.close(run_before_unload=True)
    mine.wait_for_timeout(300)
    mine.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(mine.locator("#here")).to_have_text("", timeout=SOON)
