"""A team block in a browser: made one, dragged in two classrooms at once, stepped out of by keys alone."""

import os
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from scheduling.models import Block, Week
from tests.factories import add, make_classroom, make_week
from tests.scheduling.team_rooms import share
from tests.web.conftest import OpenPage, World
from tests.web.looks import LAPTOP, PHONE, faults, fits, sizes
from tests.web.test_edits_by_mouse_and_keys import SAID, cell, drag, per_minute
from tests.web.test_history_in_a_browser import tab_to

PICTURES = os.environ.get("TEAMROOM_PICTURES", "")


def picture(page: Page, name: str) -> None:
    if PICTURES:
        page.screenshot(path=f"{PICTURES}/{name}.png")


@pytest.fixture
def other(world: World) -> Week:
    """The next room of the team, which edits together: free but for Tuesday's mathematics."""
    team = world.classroom.team
    team.edits_together = True
    team.save()
    week = make_week(make_classroom(world.year, "room14"))
    add(week, world.teacher, ("tue", "09:00", "10:00", "math"))
    return week


def science(week: Week) -> tuple[int, int]:
    block = Block.objects.get(column__week=week, column__day="mon", activity__key="science")
    return block.start, block.end


def test_a_block_is_made_a_team_block_and_one_drag_moves_it_in_two_classrooms(
    open_page: OpenPage, world: World, other: Week
) -> None:
    page = open_page(world.url, world.teacher)
    page.locator(f"{cell(page, 'mon', 'Science')} a").click()
    page.get_by_role("link", name="Make it a team block").click()
    expect(page.get_by_label("Room14: goes into free time")).to_be_checked()
    picture(page, "team-share")
    page.get_by_role("button", name="Make it a team block").click()
    expect(page.locator(SAID)).to_contain_text("Science, Monday, 10:15–11:00: a team block of Room12 and Room14 now.")
    expect(page.locator("#mon .team-tag")).to_have_text("team of 2")
    drag(page, cell(page, "mon", "Science"), 0, 45 * per_minute(page))
    expect(page.locator(SAID)).to_contain_text("Science moved to Mon 11:00.")
    expect(page.locator(SAID)).to_contain_text("In Room14 too.")
    assert science(world.week) == science(other) == (660, 705)
    picture(page, "team-dragged")
    page.keyboard.press("u")
    expect(page.locator(SAID)).to_contain_text("Undone: Science is back on Mon")
    assert science(world.week) == science(other) == (615, 660)
    assert not world.differs_from_scratch()


def test_a_drag_that_has_no_room_elsewhere_goes_back_and_names_the_classroom(
    open_page: OpenPage, world: World, other: Week
) -> None:
    share(world.teacher, world.block("science"), other)
    add(other, world.teacher, ("mon", "11:10", "11:50", "pe"))
    page = open_page(world.url, world.teacher)
    drag(page, cell(page, "mon", "Science"), 0, 45 * per_minute(page))
    expect(page.locator(f"{SAID} .refusal")).to_contain_text("In Room14, PE already takes 11:10 to 11:50")
    assert science(world.week) == (615, 660)


@pytest.mark.parametrize("look", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_stepping_out_by_keys_alone(open_page: OpenPage, world: World, other: Week, look: dict[str, Any]) -> None:
    """As is the one way to change a block that another classroom holds which is not one's own."""
    share(world.teacher, world.block("science"), other)
    team = world.classroom.team
    team.edits_together = False
    team.save()
    page = open_page(world.url, world.teacher, **look)
    page.locator("#mon .block:has-text('Science') a").focus()
    page.keyboard.down("Alt")
    page.keyboard.press("ArrowDown")
    page.keyboard.up("Alt")
    expect(page.locator(f"{SAID} .refusal")).to_contain_text("Room14 holds this block too and is not yours to change")
    picture(page, f"team-not-yours-{look['viewport']['width']}")
    page.get_by_role("link", name="Step out of it").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Step out")).to_be_visible()
    assert faults(page) == []
    assert fits(page)
    picture(page, f"team-step-out-{look['viewport']['width']}")
    tab_to(page, "Step out")
    page.keyboard.press("Enter")
    expect(page.locator(SAID)).to_contain_text("is this classroom’s own now")
    expect(page.locator("#mon .team-tag")).to_have_count(0)
    expect(page.locator("#mon .block:has-text('Science') a")).to_be_focused()
    page.keyboard.down("Alt")
    page.keyboard.press("ArrowDown")
    page.keyboard.up("Alt")
    expect(page.locator(SAID)).to_contain_text("Science moved to Mon 10:20.")
    assert science(other) == (615, 660)


@sizes
def test_axe_finds_nothing_and_all_fits(open_page: OpenPage, world: World, other: Week, size: dict[str, Any]) -> None:
    share(world.teacher, world.block("science"), other)
    make_week(make_classroom(world.year, "room15"))
    add(make_week(make_classroom(world.year, "room16")), world.teacher, ("mon", "10:30", "11:00", "pe"))
    block = world.block("science").pk
    page = open_page(world.url, world.teacher, **size)
    base = page.url.split("/classrooms/")[0]
    for path, name in (
        (world.url, "week"),
        (f"/blocks/{block}/", "block"),
        (f"/blocks/{block}/team/", "share"),
        (f"/blocks/{block}/step-out/", "step-out"),
        (f"/blocks/{block}/remove/", "remove"),
        (f"/blocks/{world.block('science', 'tue').pk}/team/", "make"),
    ):
        page.goto(f"{base}{path}")
        assert faults(page) == [], name
        assert fits(page), name
        picture(page, f"team-page-{name}-{size['viewport']['width']}")
