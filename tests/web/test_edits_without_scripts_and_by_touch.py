"""The same edits without JavaScript, and with a finger."""

from typing import Any

from playwright.sync_api import Page, expect

from scheduling.models import Block
from scheduling.services import weeks
from tests.factories import add
from tests.web.conftest import OpenPage, World

PHONE: dict[str, Any] = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "is_mobile": True}


def plain(open_page: OpenPage, world: World) -> Page:
    return open_page(world.url, world.teacher, java_script_enabled=False)


def test_a_block_is_moved_by_the_plain_form(open_page: OpenPage, world: World) -> None:
    page, before = plain(open_page, world), world.readings()
    page.locator("#mon .block:has-text('Science') a").click()
    page.get_by_label("Day").select_option(label="Thursday")
    page.get_by_role("button", name="Save the block").click()
    expect(page.locator("#said")).to_contain_text("Science moved to Thu 10:15.")
    assert Block.objects.filter(activity__key="science", column__day="thu").count() == 1
    assert world.readings() == before
    page.get_by_role("button", name="Undo my last edit").click()
    expect(page.locator("#said")).to_contain_text("Undone")
    assert world.block("science").start == 10 * 60 + 15
    assert not world.differs_from_scratch()


def test_a_block_is_added_split_and_removed_by_plain_forms(open_page: OpenPage, world: World) -> None:
    page = plain(open_page, world)
    page.get_by_role("link", name="Add a block", exact=True).click()
    page.get_by_label("Day").select_option(label="Wednesday")
    page.get_by_label("Start").fill("08:00")
    page.get_by_label("End").fill("07:00")
    page.get_by_label("Activity", exact=True).select_option(label="Math")
    page.get_by_role("button", name="Add the block").click()
    expect(page.locator(".fault")).to_have_text("Give the block an end after 8:00.")
    page.get_by_label("End").fill("09:00")
    page.get_by_role("button", name="Add the block").click()
    expect(page.locator("#said")).to_contain_text("Math added on Wed 8:00–9:00.")
    assert world.readings()["math_week", 0][:2] == ("met", 180)
    page.locator("#wed .block a").click()
    page.get_by_role("link", name="Split it").click()
    page.get_by_role("button", name="Split the block").click()
    expect(page.locator("#wed .block")).to_have_count(2)
    page.locator("#wed .block a >> nth=0").click()
    page.get_by_role("link", name="Remove it").click()
    page.get_by_role("button", name="Remove the block").click()
    expect(page.locator("#said")).to_contain_text("Math on Wed 8:00–8:30 removed.")
    assert world.readings()["math_week", 0][:2] == ("met", 150)
    assert not world.differs_from_scratch()


def test_credits_that_are_too_many_are_said_at_their_rows_and_kept(open_page: OpenPage, world: World) -> None:
    page = plain(open_page, world)
    page.locator("#mon .block:has-text('Science') a").click()
    page.get_by_text("Credit several activities").click()
    page.get_by_label("Activity 1 to credit").select_option(label="Science")
    page.get_by_label("Minutes 1").fill("30")
    page.get_by_label("Activity 2 to credit").select_option(label="Art")
    page.get_by_label("Minutes 2").fill("20")
    page.get_by_role("button", name="Save the block").click()
    expect(page.locator(".credits .fault")).to_contain_text("The credits come to 50 minutes and there are 45")
    expect(page.get_by_label("Minutes 2")).to_have_value("20")
    page.get_by_label("Minutes 2").fill("15")
    page.get_by_role("button", name="Save the block").click()
    expect(page.locator("#mon .block.shared .credited")).to_have_text("Science 30 and Art 15")
    assert world.readings()["science_week", 0][:2] == ("short", 75)


def test_somebody_who_was_first_is_shown_beside_what_one_asked(open_page: OpenPage, world: World) -> None:
    page = plain(open_page, world)
    page.locator("#mon .block:has-text('Science') a").click()
    first = world.block("science")
    weeks.move_block(
        first,
        member=world.teacher,
        revision=first.revision,
        day="mon",
        kind=first.column.kind_id,
        start=660,
        end=705,
    )
    page.get_by_label("Start").fill("10:00")
    page.get_by_role("button", name="Save the block").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Olive has changed this block meanwhile")
    expect(page.get_by_role("alert")).to_contain_text("Nothing was overwritten")
    times = page.get_by_role("group", name="Time")
    expect(times).to_contain_text("Olive’s: 11:00–11:45")
    assert world.block("science").start == 660
    times.get_by_label("Yours: 10:00–11:00").check()
    page.get_by_role("button", name="Save it like this").click()
    expect(page.locator("#said")).to_contain_text("Science on Mon is now 60 minutes")
    assert (world.block("science").start, world.block("science").end) == (600, 660)


def touch(page: Page, kind: str, x: float = 0, y: float = 0) -> None:
    points = [] if kind == "touchEnd" else [{"x": x, "y": y}]
    page.touches.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})  # type: ignore[attr-defined]


def on_phone(open_page: OpenPage, world: World) -> Page:
    page = open_page(world.url, world.teacher, **PHONE)
    page.touches = page.context.new_cdp_session(page)  # type: ignore[attr-defined]
    page.get_by_role("button", name="Mon", exact=True).tap()
    return page


def middle(page: Page, what: str) -> tuple[float, float, float]:
    page.locator(what).scroll_into_view_if_needed()
    box = page.locator(what).bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2, box["y"] + box["height"]


def test_a_resting_finger_takes_a_block_along(open_page: OpenPage, world: World) -> None:
    page = on_phone(open_page, world)
    x, y, _ = middle(page, "#mon .block:has-text('Science')")
    touch(page, "touchStart", x, y)
    page.wait_for_selector(".block.held")
    touch(page, "touchMove", x, y + 30)
    touch(page, "touchMove", x, y + 60)
    touch(page, "touchEnd")
    expect(page.locator("#said")).to_contain_text("Science moved to Mon 10:35.")
    assert world.block("science").start == 10 * 60 + 35
    assert not world.differs_from_scratch()


def test_a_block_added_on_another_day_brings_that_day_to_the_front(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher, **PHONE)
    page.get_by_role("button", name="Thu", exact=True).tap()
    expect(page.locator("#mon")).to_be_hidden()
    page.get_by_role("link", name="Add a block", exact=True).tap()
    panel = page.locator("#panel")
    panel.get_by_label("Day", exact=True).select_option(label="Monday")
    panel.get_by_label("Start").fill("13:30")
    panel.get_by_label("End").fill("14:00")
    panel.get_by_label("Activity", exact=True).select_option(label="Art")
    panel.get_by_role("button", name="Add the block").tap()
    expect(page.locator("#mon .block:has-text('Art')")).to_be_visible()
    expect(page.get_by_role("button", name="Mon", exact=True)).to_have_attribute("aria-pressed", "true")
    undo = page.get_by_role("button", name="Undo my last edit").bounding_box()
    assert undo is not None and undo["height"] < 60 and undo["width"] > 120


def test_a_finger_on_the_handle_makes_a_block_longer(open_page: OpenPage, world: World) -> None:
    page, before = on_phone(open_page, world), world.readings()
    page.locator("#mon .block:has-text('Science')").scroll_into_view_if_needed()
    x, y, _ = middle(page, "#mon .block:has-text('Science') .grip")
    touch(page, "touchStart", x, y)
    touch(page, "touchMove", x, y + 15)
    touch(page, "touchMove", x, y + 45)
    touch(page, "touchEnd")
    expect(page.locator("#said")).to_contain_text("Science on Mon is now 60 minutes")
    after = world.readings()
    assert {place for place in after if after[place] != before[place]} == {("science_week", 0)}


def test_a_finger_that_moves_at_once_scrolls_and_moves_nothing(open_page: OpenPage, world: World) -> None:
    page = on_phone(open_page, world)
    x, y, _ = middle(page, "#mon .block:has-text('Science')")
    before = page.evaluate("scrollY")
    touch(page, "touchStart", x, y)
    for step in range(1, 9):
        touch(page, "touchMove", x, y - 20 * step)
    touch(page, "touchEnd")
    page.wait_for_function(f"scrollY > {before} + 40")
    expect(page.locator(".block.held")).to_have_count(0)
    assert world.block("science").start == 10 * 60 + 15


def test_a_phone_shows_one_day_and_a_tap_shows_another(open_page: OpenPage, world: World) -> None:
    page = on_phone(open_page, world)
    expect(page.locator(".day:visible")).to_have_count(1)
    page.get_by_role("button", name="Tue", exact=True).tap()
    expect(page.locator("#tue")).to_be_visible()
    expect(page.locator("#mon")).to_be_hidden()


def test_a_tap_on_free_time_adds_a_block_there(open_page: OpenPage, world: World) -> None:
    page = on_phone(open_page, world)
    page.get_by_role("button", name="Wed", exact=True).tap()
    page.locator("#wed .gap a >> nth=0").tap(position={"x": 60, "y": 10})
    expect(page.locator("#panel #id_start")).to_have_value("08:00")
    page.locator("#panel #id_activity").select_option(label="Art")
    page.get_by_role("button", name="Add the block").tap()
    expect(page.locator("#said")).to_contain_text("Art added on Wed 8:00")


def test_an_edit_on_a_page_that_missed_another_draws_the_whole_sheet(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher)
    add(world.week, world.teacher, ("fri", "08:00", "09:00", "art"))
    page.locator("#mon .block:has-text('Science') a").focus()
    page.keyboard.press("Alt+ArrowDown")
    expect(page.locator("#said")).to_contain_text("Science moved to Mon 10:20.")
    expect(page.locator("#fri .block")).to_have_count(1)
