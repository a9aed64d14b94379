"""A draft prepared, edited, held beside the week in effect and put in effect, by keyboard alone."""

import datetime as dt
from typing import Any

from django.db import transaction
from django.urls import reverse
from playwright.sync_api import expect

from scheduling.access import week_for_editing
from scheduling.models import Week
from scheduling.services import drafts
from tests.web.conftest import OpenPage, World
from tests.web.looks import faults, fits, sizes
from tests.web.test_history_in_a_browser import tab_to


def test_a_draft_is_prepared_edited_and_put_in_effect_by_keys_alone(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher)
    before = world.readings()
    tab_to(page, "Change it from a later date")
    page.keyboard.press("Enter")
    expect(page.get_by_label("In effect from")).to_be_focused()
    assert faults(page) == []
    page.get_by_label("In effect from").fill("2026-10-05")
    page.get_by_label("Name of the draft").focus()
    page.keyboard.type("Later science")
    page.keyboard.press("Enter")
    expect(page.locator(".notice")).to_contain_text("counts for nothing yet")
    draft = Week.objects.get(draft=True)
    expect(page.locator("#open-keys")).to_be_visible()
    page.locator("#mon .block:has-text('Science') a").focus()
    page.keyboard.press("Alt+ArrowDown")
    expect(page.locator("#said")).to_contain_text("Science moved")
    assert world.readings() == before
    tab_to(page, "Put it in effect from 5 October")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="What it does")).to_be_visible()
    tab_to(page, "Put this week in effect from 5 October")
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text("This week is in effect from")
    draft.refresh_from_db()
    assert not draft.draft and not world.differs_from_scratch()


@sizes
def test_axe_finds_nothing_on_the_pages_of_drafts(open_page: OpenPage, world: World, size: dict[str, Any]) -> None:
    with transaction.atomic():
        held = week_for_editing(world.teacher, world.week.pk)
        draft = drafts.prepare_draft(held, starts=dt.date(2026, 10, 5), member=world.teacher, name="Later science")
    draft.columns.get(day="mon").blocks.filter(activity__key="science").update(start=800, end=830)
    for url in (
        f"{world.url}?week={draft.pk}",
        reverse("scheduling:week-put-in-effect", args=[draft.pk]),
        reverse("scheduling:week-compare", args=[world.week.pk, draft.pk]),
        reverse("scheduling:week-take-out", args=[world.week.pk]),
        reverse("scheduling:week-drop", args=[draft.pk]),
    ):
        page = open_page(url, world.teacher, **size)
        assert faults(page) == [], url
        assert fits(page), url
