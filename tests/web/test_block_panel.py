"""Two people on one block, and a question on it, by keys alone."""

import os
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from scheduling.models import Block, Question
from scheduling.services import weeks
from scheduling.services.block_writing import placing_of
from tests.web.conftest import OpenPage, World
from tests.web.looks import LAPTOP, PHONE, faults, fits
from tests.web.test_history_in_a_browser import tab_to

PICTURES = os.environ.get("TEAMROOM_PICTURES", "")


def picture(page: Page, name: str) -> None:
    if PICTURES:
        page.screenshot(path=f"{PICTURES}/{name}.png")


@pytest.mark.parametrize("look", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_a_conflict_is_resolved_by_keys_alone(open_page: OpenPage, world: World, look: dict[str, Any]) -> None:
    page = open_page(world.url, world.teacher, **look)
    block = Block.objects.select_related("column__week__classroom__year", "activity").get(pk=world.block("science").pk)
    page.goto(page.url.split("/classrooms/")[0] + f"/blocks/{block.pk}/")
    page.get_by_label("End").fill("11:15")
    weeks.change_block(
        block, member=world.teacher, revision=block.revision, placing=placing_of(block, end=block.end - 10)
    )
    page.get_by_label("End").focus()
    page.keyboard.press("Enter")
    heading = page.get_by_role("heading", name="has changed this block meanwhile")
    expect(heading).to_be_visible()
    assert faults(page) == []
    assert fits(page)
    picture(page, f"conflict-{look['viewport']['width']}")
    page.get_by_role("group", name="Time").get_by_role("radio").first.focus()
    page.keyboard.press("ArrowDown")
    tab_to(page, "Save it like this")
    page.keyboard.press("Enter")
    expect(heading).to_have_count(0)
    assert world.block("science").end == 11 * 60 + 15


def test_a_question_is_asked_and_answered_in_the_panel(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher)
    page.locator("#mon .block:has-text('Science') a").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_label("Why here")).to_be_visible()
    picture(page, "panel")
    page.get_by_role("link", name="Ask about this block").press("Enter")
    page.get_by_label("Your question").fill("Why on Mondays?")
    assert faults(page) == []
    page.get_by_role("button", name="Ask", exact=True).press("Enter")
    expect(page.get_by_text("Nobody has answered yet.")).to_be_visible()
    page.get_by_label("Your answer").fill("The cart is ours then.")
    page.get_by_role("button", name="Write the answer").press("Enter")
    expect(page.locator("#panel-body .sheet")).to_contain_text("The cart is ours then.")
    assert faults(page) == []
    picture(page, "question")
    page.get_by_role("button", name="Settle the question").press("Enter")
    expect(page.get_by_role("button", name="Open it again")).to_be_visible()
    assert Question.objects.get().settled_at is not None
    page.goto(page.url.split("/classrooms/")[0] + "/questions/")
    assert faults(page) == []
    picture(page, "questions")
