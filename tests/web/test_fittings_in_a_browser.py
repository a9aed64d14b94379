"""A week taken over, mended, and from nothing: by keys alone, on a laptop and a phone, by day and by night."""

import datetime as dt
from typing import Any

import pytest
from django.db import transaction
from django.urls import reverse
from playwright.sync_api import Page, expect

from scheduling.models import Block, Fitting, FixedStretch, Week
from scheduling.services.compliance import recompute
from scheduling.tasks import do_fittings
from teamroom.members.models import Classroom, TeamRole
from tests.factories import add, begin, make_classroom, make_rule, make_week
from tests.web.conftest import OpenPage, World
from tests.web.looks import faults, fits, sizes
from tests.web.test_history_in_a_browser import tab_to


@pytest.fixture
def newcomer(world: World) -> Classroom:
    """A fifth grade with its own bells, which the teacher has as well; the fourth's week says why."""
    year = world.year
    room = make_classroom(year, "room31", ("5",))
    TeamRole.objects.create(team=room.team, member=world.teacher, role="teacher")
    room.teachers.add(world.teacher)
    bell = year.bell_schedules.create(grade="5", kind=year.day_kinds.get(key="regular"), start=480, dismissal=870)
    FixedStretch.objects.create(bell_schedule=bell, activity=year.activities.get(key="art"), start=540, end=600)
    make_rule(year, "math_5", {"pool": {"of": ["math"]}, "at_least": 130}, ("5",), name="Mathematics of the fifth")
    begin(year)
    Block.objects.filter(column__week=world.week, activity__key="math").update(why="The aide is free until 10")
    return room


def worked_out(page: Page) -> None:
    """The background work done, which the page hears of by itself."""
    expect(page.locator("progress")).to_be_visible()
    do_fittings()
    expect(page.locator("progress")).to_have_count(0, timeout=15_000)


def test_a_colleagues_week_is_taken_over_by_keys_alone(open_page: OpenPage, world: World, newcomer: Classroom) -> None:
    page = open_page(reverse("scheduling:week", args=[newcomer.pk]), world.teacher)
    tab_to(page, "from a colleague’s week")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Start from a colleague’s week")).to_be_visible()
    tab_to(page, "from Mon 7 Sep 2026")
    page.keyboard.press("Enter")
    expect(page.get_by_text("with the reason why")).to_be_visible()
    tab_to(page, "Fit it to Room31")
    page.keyboard.press("Enter")
    worked_out(page)
    expect(page.get_by_text("art is fixed at 9:00").first).to_be_visible()
    expect(page.locator("main")).to_contain_text("An ordinary week of it meets every rule")
    choice = page.get_by_label("Math on Monday").first
    choice.focus()
    page.keyboard.press("s")
    tab_to(page, "Fit the rest anew")
    page.keyboard.press("Enter")
    worked_out(page)
    page.goto(page.url)
    expect(page.locator("main")).to_contain_text("Fitted around 1 change you decided about.")
    tab_to(page, "Make a draft of it")
    page.keyboard.press("Enter")
    expect(page.get_by_text("This is your draft")).to_be_visible()
    draft = Week.objects.get(classroom=newcomer)
    assert draft.draft
    assert Block.objects.filter(column__week=draft, why__startswith="From Room12").count() == 2


def test_what_mends_a_week_is_found_and_made_a_draft(open_page: OpenPage, world: World) -> None:
    make_rule(world.year, "science_more", {"pool": {"of": ["science"]}, "at_least": 100}, name="More science")
    with transaction.atomic():
        recompute(begin(world.year))
    page = open_page(world.url, world.teacher)
    page.get_by_role("link", name="Mend what is short").click()
    expect(page.get_by_text("More science")).to_be_visible()
    page.get_by_label("Mended from").fill("2026-09-07")
    page.get_by_role("button", name="Look for what mends it").click()
    worked_out(page)
    ways = page.get_by_role("button", name="Make a draft of it")
    expect(ways.first).to_be_visible()
    assert faults(page) == []
    page.get_by_text("What it does to each rule").first.click()
    expect(page.get_by_text("More science").first).to_be_visible()
    ways.first.click()
    expect(page.get_by_text("This is your draft")).to_be_visible()
    draft = Week.objects.get(classroom=world.classroom, draft=True)
    science = Block.objects.filter(column__week=draft, activity__key="science")
    assert sum(block.end - block.start for block in science) >= 100


def test_a_search_is_stopped_and_says_so(open_page: OpenPage, world: World, newcomer: Classroom) -> None:
    page = open_page(reverse("scheduling:take-over", args=[newcomer.pk]) + f"?week={world.week.pk}", world.teacher)
    page.get_by_role("button", name="Fit it to").click()
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_role("alert")).to_contain_text("stopped before it began")
    assert Fitting.objects.get().state == "refused"
    page.get_by_role("link", name="Ask again").click()
    expect(page.get_by_role("heading", name="Start from a colleague’s week")).to_be_visible()


@sizes
def test_axe_finds_nothing_on_the_pages_of_fittings(
    open_page: OpenPage, world: World, newcomer: Classroom, size: dict[str, Any]
) -> None:
    week = make_week(newcomer, dt.date(2026, 9, 7))
    add(week, world.teacher, ("mon", "10:00", "11:00", "math"))
    for url in (
        reverse("scheduling:take-over", args=[newcomer.pk]),
        reverse("scheduling:take-over", args=[newcomer.pk]) + f"?week={world.week.pk}",
        reverse("scheduling:from-nothing", args=[newcomer.pk]),
        reverse("scheduling:week-mend", args=[week.pk]),
    ):
        page = open_page(url, world.teacher, **size)
        assert faults(page) == [], url
        assert fits(page), url
    page = open_page(reverse("scheduling:from-nothing", args=[newcomer.pk]), world.teacher, **size)
    page.get_by_text("What you would like").click()
    assert faults(page) == []
    page.get_by_role("button", name="Draft it").click()
    expect(page.locator("progress")).to_be_visible()
    assert faults(page) == []
    worked_out(page)
    page = open_page(reverse("scheduling:fitting-way", args=[Fitting.objects.get().pk, 0]), world.teacher, **size)
    assert faults(page) == []
    assert fits(page)
