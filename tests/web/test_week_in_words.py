"""The week in words: every block, however short, has a target of full size and a reason in full."""

from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from tests.factories import add
from tests.web.conftest import OpenPage, World
from tests.web.test_pages_in_a_browser import LAPTOP, PHONE

FIVE_MINUTES = ("wed", "09:00", "09:05", "math")


def opened(page: Page) -> Page:
    page.get_by_text("The week in words").click()
    expect(page.locator("#in-words-body .list-day").first).to_be_visible()
    return page


@pytest.mark.parametrize(("size", "least"), [(LAPTOP, 24), (PHONE, 44)], ids=["laptop", "phone"])
def test_every_block_has_a_target_of_full_size(
    open_page: OpenPage, world: World, size: dict[str, Any], least: int
) -> None:
    add(world.week, world.teacher, FIVE_MINUTES)
    page = opened(open_page(world.url, world.teacher, **size))
    links = page.locator("#in-words-body a").all()
    blocks = [link for link in links if "Free" not in link.inner_text()]
    assert len(blocks) == 7
    boxes = [link.bounding_box() for link in links]
    assert all(box is not None and box["height"] >= least and box["width"] >= least for box in boxes)


def test_a_short_block_is_changed_from_the_list_which_then_says_so(open_page: OpenPage, world: World) -> None:
    add(world.week, world.teacher, FIVE_MINUTES)
    page = opened(open_page(world.url, world.teacher))
    page.locator("#in-words-body a", has_text="9:00\N{EN DASH}9:05").click()
    page.locator("#panel").get_by_label("Why here").fill("While the bus children arrive")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#in-words-body")).to_contain_text("While the bus children arrive")
    assert not world.differs_from_scratch()


def test_without_scripts_the_list_is_a_page_of_plain_links(open_page: OpenPage, world: World) -> None:
    page = open_page(reverse("scheduling:week-list", args=[world.week.pk]), world.teacher, java_script_enabled=False)
    page.get_by_role("link", name="Reading").first.click()
    expect(page.get_by_label("Why here")).to_be_visible()
