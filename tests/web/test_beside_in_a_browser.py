"""A week beside another and against a grade's rules: by keys, by day and by night, on a laptop, a phone and paper."""

import datetime as dt
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from scheduling.models import Block, Week
from teamroom.members.models import TeamRole
from tests.factories import add, make_classroom, make_rule, make_week
from tests.web.conftest import OpenPage, World
from tests.web.looks import faults, fits, sizes
from tests.web.test_history_in_a_browser import tab_to


@pytest.fixture
def five(world: World) -> Week:
    """The week of a fifth grade that the teacher may read as a guest of its team."""
    room = make_classroom(world.year, "room31", ("5",))
    TeamRole.objects.create(team=room.team, member=world.teacher, role="guest")
    room.teachers.add(world.teacher)
    week = make_week(room, dt.date(2026, 9, 7))
    add(week, world.teacher, ("mon", "13:00", "14:00", "math"), ("mon", "09:00", "09:40", "art"))
    Block.objects.filter(column__week=week).update(why="So that nobody is tired")
    make_rule(world.year, "art_week", {"pool": {"of": ["art"]}, "at_least": 60}, ("5",), name="Art in the week")
    return week


def test_a_week_is_put_beside_another_and_against_a_grade_by_keys_alone(
    open_page: OpenPage, world: World, five: Week
) -> None:
    page = open_page(world.url, world.teacher)
    tab_to(page, "Beside another")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Beside what?")).to_be_visible()
    tab_to(page, "Room31, grade 5")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Two weeks side by side")).to_be_visible()
    minutes = page.get_by_role("region", name="Minutes in an ordinary week")
    expect(minutes.get_by_role("row", name="Math")).to_contain_text("60 minutes less")
    tab_to(page, "the first against the rules of grade 5")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="What is missing")).to_be_visible()
    expect(page.locator("main")).to_contain_text("Art in the week, short")
    tab_to(page, "grade 4")
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_contain_text("meets 2 of 3 rules")


@sizes
def test_axe_finds_nothing_on_the_pages_of_weeks_side_by_side(
    open_page: OpenPage, world: World, five: Week, size: dict[str, Any]
) -> None:
    for url in (
        reverse("scheduling:week-beside", args=[world.week.pk]),
        reverse("scheduling:week-compare", args=[world.week.pk, five.pk]),
        reverse("scheduling:week-against", args=[world.week.pk, "5"]),
    ):
        page = open_page(url, world.teacher, **size)
        assert faults(page) == [], url
        assert fits(page), url


def test_bars_are_as_long_as_the_minutes_they_stand_for(open_page: OpenPage, world: World, five: Week) -> None:
    page = open_page(reverse("scheduling:week-compare", args=[world.week.pk, five.pk]), world.teacher)
    row = page.get_by_role("region", name="Minutes in an ordinary week").get_by_role("row", name="Math")
    bars = row.locator(".sum-bar").evaluate_all("bars => bars.map(bar => bar.firstChild.offsetWidth / bar.offsetWidth)")
    # The most is lunch, which the school fixes at 30 minutes each day.
    assert bars == [pytest.approx(120 / 150, abs=0.02), pytest.approx(60 / 150, abs=0.02)]


def test_paper_has_the_figures_and_no_way_elsewhere(open_page: OpenPage, world: World, five: Week) -> None:
    page = open_page(reverse("scheduling:week-compare", args=[world.week.pk, five.pk]), world.teacher)
    page.emulate_media(media="print")
    expect(page.get_by_role("region", name="Minutes in an ordinary week")).to_be_visible()
    expect(page.get_by_text("Hold the first beside another week")).to_be_hidden()
    cut = page.evaluate(
        "[...document.querySelectorAll('.scroll')].filter(one => one.scrollWidth > one.clientWidth).length"
    )
    assert cut == 0
