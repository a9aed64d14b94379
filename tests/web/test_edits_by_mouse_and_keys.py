"""The week edited in a browser: each way does the same deed, changes its readings and no others."""

import re

from playwright.sync_api import Page, expect

from scheduling.models import Block
from scheduling.services import weeks
from tests.web.conftest import OpenPage, World

SAID = "#said"


def cell(page: Page, day: str, name: str) -> str:
    return f"#{day} .block:has-text('{name}')"


def drag(page: Page, what: str, dx: float, dy: float, *, let_go: bool = True, at_foot: bool = False) -> None:
    box = page.locator(what).bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + (box["height"] - 1 if at_foot else box["height"] / 2)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + dx / 2, y + dy / 2, steps=4)
    page.mouse.move(x + dx, y + dy, steps=4)
    if let_go:
        page.mouse.up()


def per_minute(page: Page) -> float:
    box = page.locator("#mon .day-body").bounding_box()
    grid = page.locator("#week-grid")
    assert box is not None
    span = int(grid.get_attribute("data-last") or 0) - int(grid.get_attribute("data-first") or 0)
    return box["height"] / span


def day_width(page: Page) -> float:
    first, second = (page.locator(f"#{day}").bounding_box() for day in ("mon", "tue"))
    assert first is not None and second is not None
    return second["x"] - first["x"]


def test_dragging_a_block_to_another_day_moves_it_and_its_readings_alone(open_page: OpenPage, world: World) -> None:
    page, before = open_page(world.url, world.teacher), world.readings()
    drag(page, cell(page, "mon", "Science"), 2 * day_width(page), 45 * per_minute(page))
    expect(page.locator(SAID)).to_contain_text("Science moved to Wed 11:00.")
    moved = world.block("science", "wed")
    assert (moved.start, moved.end) == (11 * 60, 11 * 60 + 45)
    assert world.readings() == before
    expect(page.locator("#wed .block a")).to_be_focused()
    assert not world.differs_from_scratch()


def test_dragging_the_foot_of_a_block_makes_it_longer(open_page: OpenPage, world: World) -> None:
    page, before = open_page(world.url, world.teacher), world.readings()
    drag(page, cell(page, "mon", "Science"), 0, 15 * per_minute(page), at_foot=True)
    expect(page.locator(SAID)).to_contain_text("Science on Mon is now 60 minutes, 10:15–11:15.")
    after = world.readings()
    assert {place for place in after if after[place] != before[place]} == {("science_week", 0)}
    assert after["science_week", 0][1] == 105
    expect(page.locator(".since")).to_have_text(["15 minutes more than before"])
    assert not world.differs_from_scratch()


def test_escape_puts_a_dragged_block_back(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher)
    drag(page, cell(page, "mon", "Science"), 0, 60 * per_minute(page), let_go=False)
    expect(page.locator(".block.held a")).to_have_attribute("data-held", "Mon 11:15–12:00, 45 min")
    page.keyboard.press("Escape")
    page.mouse.up()
    expect(page.locator(".block.held")).to_have_count(0)
    assert world.block("science").start == 10 * 60 + 15


def test_a_block_dropped_on_another_goes_back_with_the_reason(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher)
    drag(page, cell(page, "mon", "Science"), 0, -60 * per_minute(page))
    expect(page.locator(f"{SAID} .refusal")).to_contain_text("already takes 9:00 to 10:00")
    expect(page.locator(cell(page, "mon", "Science"))).to_have_attribute(
        "style", re.compile("--start: ?615; ?--length: ?45")
    )


def test_keys_alone_move_a_block_and_undo_takes_it_back(open_page: OpenPage, world: World) -> None:
    page, before = open_page(world.url, world.teacher), world.readings()
    page.locator(cell(page, "mon", "Reading") + " a").focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    expect(page.locator(cell(page, "mon", "Science") + " a")).to_be_focused()
    page.keyboard.press("Alt+ArrowDown")
    page.keyboard.press("Alt+ArrowDown")
    expect(page.locator(SAID)).to_contain_text("Science moved to Mon 10:25.")
    expect(page.locator(cell(page, "mon", "Science") + " a")).to_be_focused()
    page.keyboard.press("u")
    expect(page.locator(SAID)).to_contain_text("Undone: Science is back on Mon 10:15–11:00.")
    assert world.block("science").start == 10 * 60 + 15
    assert world.readings() == before


def test_keys_resize_remove_and_say_what_it_means(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher)
    page.locator(cell(page, "tue", "Science") + " a").focus()
    page.keyboard.press("Shift+ArrowUp")
    expect(page.locator(SAID)).to_contain_text("Science in the week is 5 minutes short in the week of 7 Sep.")
    expect(page.locator(cell(page, "tue", "Science") + " a")).to_be_focused()
    page.keyboard.press("Delete")
    expect(page.locator(SAID)).to_contain_text("Science on Tue 10:15–10:55 removed.")
    expect(page.locator("#tue .gap a >> nth=0")).to_be_focused()
    assert not Block.objects.filter(activity__key="science", column__day="tue").exists()
    assert world.readings()["science_week", 0][:2] == ("short", 45)
    assert not world.differs_from_scratch()


def test_a_new_block_by_keys_goes_where_the_focus_is(open_page: OpenPage, world: World) -> None:
    page, before = open_page(world.url, world.teacher), world.readings()
    page.locator("#wed .gap a >> nth=0").focus()
    page.keyboard.press("n")
    page.locator("#panel #id_activity").select_option(label="Math")
    page.locator("#id_end").fill("09:00")
    page.keyboard.press("Enter")
    expect(page.locator(SAID)).to_contain_text("Math added on Wed 8:00–9:00.")
    expect(page.locator(cell(page, "wed", "Math") + " a")).to_be_focused()
    after = world.readings()
    assert {place for place in after if after[place] != before[place]} == {("math_week", 0)}


def test_splitting_changes_no_minutes(open_page: OpenPage, world: World) -> None:
    page, before = open_page(world.url, world.teacher), world.readings()
    page.locator(cell(page, "mon", "Math") + " a").focus()
    page.keyboard.press("s")
    page.locator("#panel #id_at").fill("09:20")
    page.get_by_role("button", name="Split the block").click()
    expect(page.locator(SAID)).to_contain_text("Math split at 9:20.")
    expect(page.locator("#mon .block:has-text('Math')")).to_have_count(2)
    assert world.readings() == before


def test_the_grid_is_one_tab_stop(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher)
    page.wait_for_function("document.querySelectorAll(\".days [tabindex='0']\").length === 1")
    page.locator(cell(page, "mon", "Math") + " a").focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator(cell(page, "tue", "Math") + " a")).to_be_focused()
    page.keyboard.press("Tab")
    expect(page.locator("#in-words summary")).to_be_focused()
    page.keyboard.press("Shift+Tab")
    expect(page.locator(cell(page, "tue", "Math") + " a")).to_be_focused()


def test_the_question_mark_lists_the_keys(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher)
    page.locator(cell(page, "mon", "Math") + " a").focus()
    page.keyboard.press("?")
    expect(page.get_by_role("heading", name="Keys on the week")).to_be_visible()


def test_clicking_a_block_changes_it_in_the_panel(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher)
    page.locator(cell(page, "mon", "Math")).click()
    page.locator("#id_start").fill("08:30")
    page.get_by_role("button", name="Save the block").click()
    expect(page.locator("#panel .fault")).to_contain_text("Reading already takes 8:00 to 9:00")
    page.locator("#id_start").fill("09:10")
    page.locator("#id_why").fill("The aide is here")
    page.get_by_role("button", name="Save the block").click()
    expect(page.locator(SAID)).to_contain_text("Math on Mon is now 50 minutes, 9:10–10:00.")
    expect(page.locator(cell(page, "mon", "Math") + " .why")).to_have_text("The aide is here")
    assert world.readings()["math_week", 0][:2] == ("short", 110)


def test_somebody_who_has_gone_on_to_the_ledger_stays_there(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher)
    page.locator(cell(page, "mon", "Science") + " a").focus()
    page.keyboard.press("Shift+ArrowDown")
    figure = page.locator(".reading:has-text('a week') >> nth=1")
    figure.focus()
    expect(page.locator(SAID)).to_contain_text("Science on Mon is now 50 minutes")
    expect(page.locator(".since")).to_have_count(1)
    expect(figure).to_be_focused()


def test_dragging_what_somebody_else_has_changed_shows_both(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher)
    block = world.block("science")
    weeks.move_block(
        block, member=world.teacher, revision=block.revision, day="mon", kind=block.column.kind_id, start=660, end=700
    )
    drag(page, cell(page, "mon", "Science"), day_width(page) * 3, 0)
    panel = page.locator("#panel")
    expect(panel).to_contain_text("Olive has changed this block meanwhile")
    expect(panel).to_contain_text("Thu, as you want it")
    expect(panel).to_contain_text("11:00–11:40, as Olive left it")
    page.get_by_role("link", name="Keep it as Olive left it").click()
    expect(page.locator(cell(page, "mon", "Science"))).to_have_attribute("data-start", "660")
    assert world.block("science").start == 660
