"""Two people at one week, each in a browser of their own: both see what the other does, and neither is disturbed."""

import datetime as dt
import os
import socket
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.db import connection, transaction
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page, expect

from scheduling.access import block_for_editing, week_for_editing
from scheduling.models import Block
from scheduling.services import drafts, weeks
from teamroom.common.embedded import lease
from teamroom.members.models import Member, TeamRole
from tests.factories import make_teammate
from tests.live.serving import Server, a_server, wait_until_it_answers
from tests.web.conftest import PATIENCE, OpenPage, World
from tests.web.looks import faults

At = Callable[..., Page]
SOON = 5000
LATER = dt.date(2026, 10, 5)


@pytest.fixture
def colleague(world: World) -> Member:
    """Somebody who may edit the same week."""
    return make_teammate(world.classroom.team, "Lena", "lead")


@pytest.fixture
def server(world: World, colleague: Member) -> Iterator[Server]:
    with a_server() as server:
        wait_until_it_answers(server)
        yield server


def signed_in_at(browser: Browser, url: str, member: Member, **how: Any) -> BrowserContext:
    context = browser.new_context(**{"viewport": {"width": 1280, "height": 800}, **how})
    context.set_default_timeout(PATIENCE)
    client = Client()
    client.force_login(member)
    cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
    context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": url}])
    return context


@pytest.fixture
def at(browser: Browser, server: Server) -> Iterator[At]:
    """Open an address of the real server, with its streams, signed in as a member."""
    contexts: list[Any] = []

    def opened(path: str, member: Member, **how: Any) -> Page:
        url = f"http://127.0.0.1:{server.port}"
        context = signed_in_at(browser, url, member, **how)
        contexts.append(context)
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


def test_what_the_page_asks_by_itself_says_so_and_what_somebody_asks_does_not(
    world: World, colleague: Member, at: At
) -> None:
    mine, theirs = at(world.url, world.teacher), at(world.url, colleague)
    with mine.expect_request("**/stale/*") as asked:
        longer(theirs, world.block("math"))
    assert asked.value.header_value("X-By-Itself") == "1"
    with mine.expect_request(f"**/blocks/{world.block('math').pk}/") as clicked:
        cell(mine, world.block("math")).locator("a").click()
    assert clicked.value.header_value("X-By-Itself") is None


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


def test_of_two_who_change_one_block_at_once_the_second_chooses_by_keys_alone_and_the_first_sees_it(
    world: World, colleague: Member, at: At
) -> None:
    mine, theirs = at(world.url, world.teacher), at(world.url, colleague)
    math = world.block("math")
    cell(theirs, math).locator("a").focus()
    theirs.keyboard.press("Enter")
    end = theirs.locator("#panel [name=end]")
    expect(end).to_be_visible()
    end.fill("10:15")
    longer(mine, math, times=1)
    expect(theirs.locator("#panel .meanwhile-notice")).to_contain_text("Math on Mon is now 65 minutes", timeout=SOON)
    expect(end).to_have_value("10:15")
    mine.evaluate("window.sameDocument = true")
    theirs.keyboard.press("Enter")
    expect(theirs.locator("#panel-title")).to_contain_text("Olive has changed this block meanwhile")
    choice = theirs.get_by_role("group", name="Time was 9:00–10:00")
    expect(choice.locator("label")).to_have_text(["Olive’s: 9:00–10:05", "Yours: 9:00–10:15"])
    left, right = (label.bounding_box() for label in choice.locator("label").all())
    assert left and right and left["y"] == right["y"] and left["x"] + left["width"] <= right["x"]
    assert faults(theirs) == []
    ours = theirs.locator("#panel [value=mine]").first
    tab_until(theirs, "take-times")
    theirs.keyboard.press("ArrowDown")
    expect(ours).to_be_checked()
    theirs.keyboard.press("Enter")
    expect(cell(mine, math)).to_have_attribute("data-length", "75", timeout=SOON)
    assert mine.evaluate("window.sameDocument") is True
    assert mine.evaluate("document.activeElement.closest('.cell')?.dataset.pk") == str(math.pk)
    math.refresh_from_db()
    assert math.end == 615 and not world.differs_from_scratch()


def tab_until(page: Page, name: str) -> None:
    """Press Tab until the focus is on a field of a name."""
    for _ in range(12):
        if page.evaluate("document.activeElement.name") == name:
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"Tab never came to {name}")


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


LOOK_AGAIN = "document.dispatchEvent(new Event('visibilitychange'))"


def test_each_sees_that_the_other_is_there_and_on_which_day(world: World, colleague: Member, at: At) -> None:
    lease.take(Path(os.environ["TEAMROOM_DATA"]), "valkey")
    mine = at(world.url, world.teacher)
    theirs = at(world.url, colleague)
    expect(theirs.locator("#here")).to_have_text("Also here: Olive", timeout=SOON)
    with theirs.expect_response("**/here/"):
        cell(theirs, world.block("math", "tue")).locator("a").focus()
    mine.evaluate(LOOK_AGAIN)
    expect(mine.locator("#here")).to_have_text("Also here: Lena on Tuesday", timeout=SOON)
    assert faults(mine) == []
    theirs.goto(theirs.url.replace(world.url, "/"))
    mine.wait_for_timeout(300)
    mine.evaluate(LOOK_AGAIN)
    expect(mine.locator("#here")).to_have_text("", timeout=SOON)


def test_one_s_own_edit_asks_for_nothing_again(world: World, at: At) -> None:
    mine = at(world.url, world.teacher)
    asked: list[str] = []
    mine.on("request", lambda request: asked.append(request.url) if "/stale/" in request.url else None)
    longer(mine, world.block("math"))
    expect(mine.locator("#said")).to_contain_text("Math on Mon is now 75 minutes", timeout=SOON)
    mine.wait_for_timeout(1000)
    assert asked == []
    assert mine.locator("#meanwhile").inner_text() == ""


def test_the_page_does_not_jump_and_what_one_s_own_edit_said_stays(world: World, colleague: Member, at: At) -> None:
    mine, theirs = at(world.url, world.teacher), at(world.url, colleague)
    longer(mine, world.block("math"))
    expect(mine.locator("#said")).to_contain_text("Math on Mon is now 75 minutes", timeout=SOON)
    before, said = mine.locator("#week-grid").bounding_box(), mine.locator("#said").inner_text()
    cell(theirs, world.block("science", "tue")).locator("a").focus()
    theirs.keyboard.press("Delete")
    expect(mine.locator("#meanwhile")).to_contain_text("Lena: Science on Tue", timeout=SOON)
    assert mine.locator("#week-grid").bounding_box() == before
    assert mine.locator("#said").inner_text() == said


def test_the_focus_of_a_block_that_is_removed_stays_in_its_day(world: World, colleague: Member, at: At) -> None:
    mine, theirs = at(world.url, world.teacher), at(world.url, colleague)
    math = world.block("math")
    cell(mine, math).locator("a").focus()
    cell(theirs, math).locator("a").focus()
    theirs.keyboard.press("Delete")
    expect(cell(mine, math)).to_have_count(0, timeout=SOON)
    assert mine.evaluate("document.activeElement.closest('.day')?.dataset.place.split(':')[0]") == "mon"


def test_the_week_in_words_is_told_anew_and_keeps_the_focus(world: World, colleague: Member, at: At) -> None:
    mine, theirs = at(world.url, world.teacher), at(world.url, colleague)
    mine.locator("#in-words summary").click()
    link = mine.locator(f"#in-words-body a[href*='/blocks/{world.block('science').pk}/']").first
    link.focus()
    longer(theirs, world.block("math"))
    expect(mine.locator("#in-words-body")).to_contain_text("9:00–10:15", timeout=SOON)
    expect(link).to_be_focused()
    assert mine.locator("#in-words").get_attribute("open") is not None


def test_a_draft_that_was_thrown_away_says_so_once_and_can_still_be_read(
    world: World, colleague: Member, at: At
) -> None:
    with transaction.atomic():
        held = week_for_editing(colleague, world.week.pk)
        draft = drafts.prepare_draft(held, starts=LATER, member=colleague, name="A try")
    mine = at(f"{world.url}?week={draft.pk}", world.teacher)
    asked: list[str] = []
    mine.on("request", lambda request: asked.append(request.url) if "/stale/" in request.url else None)
    with transaction.atomic():
        drafts.throw_away(week_for_editing(colleague, draft.pk))
    expect(mine.locator("#lost")).to_contain_text("no longer there", timeout=SOON)
    make_edit(world, colleague)
    mine.wait_for_timeout(1000)
    assert len(asked) == 1
    assert mine.locator(".cell.block").count() == 6
    assert faults(mine) == []
    mine.locator("#lost a").click()
    expect(mine.locator("#sheet-state")).to_have_attribute("data-week", str(world.week.pk))


def test_who_is_signed_out_is_told_so_and_keeps_what_they_typed(world: World, colleague: Member, at: At) -> None:
    mine = at(world.url, world.teacher)
    cell(mine, world.block("math")).locator("a").click()
    why = mine.locator("#panel textarea[name=why]")
    why.fill("before the aide leaves")
    Session.objects.all().delete()
    make_edit(world, colleague)
    expect(mine.locator("#panel .lost-notice")).to_contain_text("You are signed out", timeout=SOON)
    assert why.input_value() == "before the aide leaves"
    assert mine.evaluate("document.activeElement.name") == "why"
    mine.keyboard.press("Escape")
    expect(mine.locator("#lost a")).to_have_text("Sign in again")


def test_who_may_no_longer_read_the_week_is_told_so(world: World, colleague: Member, open_page: OpenPage) -> None:
    theirs = open_page(world.url, colleague)
    expect(theirs.locator("#week-grid")).to_be_visible()
    TeamRole.objects.filter(member=colleague).delete()
    expect(theirs.locator("#lost")).to_contain_text("no longer open to you", timeout=12_000)
    assert faults(theirs) == []


def test_a_server_that_is_started_again_and_a_database_that_dropped_everybody_are_caught_up_with(
    world: World, colleague: Member, browser: Browser
) -> None:
    listening = socket.create_server(("127.0.0.1", 0), backlog=64)
    url = f"http://127.0.0.1:{listening.getsockname()[1]}"
    with a_server(listening) as first:
        wait_until_it_answers(first)
        context = signed_in_at(browser, url, world.teacher)
        mine = context.new_page()
        with mine.expect_request("**/live/?*"):
            mine.goto(f"{url}{world.url}")
        drop_everybody_else()
        reading, math = world.block("reading"), world.block("math")
        make_edit(world, colleague)
        expect(cell(mine, reading)).to_have_count(0, timeout=12_000)
    make_edit(world, colleague, "math")
    with a_server(listening):
        expect(cell(mine, math)).to_have_count(0, timeout=15_000)
        context.close()
    listening.close()


def make_edit(world: World, member: Member, activity: str = "reading") -> None:
    """Somebody takes Monday's block of an activity out, elsewhere."""
    with transaction.atomic():
        block = block_for_editing(member, world.block(activity).pk)
        weeks.remove_block(block, member=member, revision=block.revision)


def drop_everybody_else() -> None:
    """What a database that is started again does to everybody who was connected."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )
