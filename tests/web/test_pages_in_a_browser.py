"""Every page as a browser shows it: free of accessibility faults, narrow and wide, light and dark."""

import re
from typing import Any

import pytest
from django.template.loader import render_to_string
from django.urls import reverse
from playwright.sync_api import expect

from scheduling.models import Block, Rule
from tests.factories import add, make_classroom, make_member, make_teacher, make_week, make_year
from tests.web.conftest import OpenPage, World
from tests.web.looks import LAPTOP, PHONE, faults, fits, sizes


@sizes
def test_axe_finds_nothing_on_any_page(open_page: OpenPage, world: World, size: dict[str, Any]) -> None:
    block, rule = world.block("math"), Rule.objects.get(key="math_week")
    empty = make_classroom(world.year, "room13")
    empty.teachers.add(world.teacher)
    args = [world.classroom.pk, rule.pk, 0]
    paths = [
        "/",
        world.url,
        f"/classrooms/{empty.pk}/week/",
        reverse("scheduling:block-add", args=[world.week.pk]),
        reverse("scheduling:week-start", args=[world.week.pk]),
        reverse("scheduling:week-list", args=[world.week.pk]),
        *(reverse(f"scheduling:block-{verb}", args=[block.pk]) for verb in ("edit", "move", "split", "remove")),
        reverse("scheduling:reading-trace", args=args),
        "/nowhere/",
    ]
    page = open_page("/", world.teacher, **size)
    base = page.url.rstrip("/")
    found = {}
    for path in paths:
        page.goto(f"{base}{path}")
        found[path] = faults(page) + ([] if fits(page) else ["wider than the screen"])
    assert {path: some for path, some in found.items() if some} == {}


@sizes
def test_axe_finds_nothing_in_the_panel(open_page: OpenPage, world: World, size: dict[str, Any]) -> None:
    page = open_page(world.url, world.teacher, **size)
    page.locator(".ledger .reading >> nth=0").click()
    expect(page.locator("#panel .trace")).to_be_visible()
    assert faults(page) == []
    page.keyboard.press("Escape")
    page.get_by_role("link", name="Add a block", exact=True).click()
    page.get_by_role("button", name="Add the block").click()
    expect(page.locator("#panel .fault").first).to_be_visible()
    assert faults(page) == []


@sizes
def test_axe_finds_nothing_on_the_sign_in_page(open_page: OpenPage, world: World, size: dict[str, Any]) -> None:
    page = open_page("/sign-in/", **size)
    page.get_by_role("button", name="Sign in").click()
    assert faults(page) == []
    assert fits(page)


def test_signing_in_leads_back_to_where_one_wanted_to_go(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url)
    page.get_by_label("E-mail address").fill(world.teacher.email)
    page.get_by_label("Passphrase").fill("not this one")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("alert")).to_contain_text("do not belong together")
    page.get_by_label("Passphrase").fill("a long enough phrase")
    page.get_by_role("button", name="Sign in").click()
    expect(page).to_have_url(re.compile(re.escape(world.url)))
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()


def test_the_week_fits_a_laptop_screen_without_scrolling(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher, **LAPTOP)
    assert page.evaluate("document.documentElement.scrollHeight <= innerHeight")


def test_targets_on_a_phone_are_large_enough_for_a_finger(open_page: OpenPage, world: World) -> None:
    """At least 44 px high, as look.md's own rule for small screens asks (WCAG 2.2, 2.5.5)."""
    page = open_page(world.url, world.teacher, **PHONE)
    small = page.evaluate(
        """[...document.querySelectorAll("a, button, select, input")].filter((e) => e.checkVisibility()
        && !e.closest(".cell") && !e.classList.contains("skip") && e.getBoundingClientRect().height < 43.5)
        .map((e) => e.outerHTML.slice(0, 80))"""
    )
    assert small == []


def test_a_figure_opens_its_trace_and_the_focus_comes_back(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher)
    figure = page.locator("#rule-" + str(Rule.objects.get(key="math_week").pk) + " .reading")
    expect(figure).to_have_count(1)
    figure.click()
    table = page.locator("#panel table")
    expect(table.locator("tbody tr")).to_have_count(2)
    expect(table.locator("tfoot td.n")).to_have_text("120")
    page.keyboard.press("Escape")
    expect(figure).to_be_focused()


def test_a_reader_sees_the_week_and_no_way_to_change_it(open_page: OpenPage, world: World) -> None:
    reader = make_member("Rhea")
    reader.team_roles.create(team=world.classroom.team, role="teacher")
    page = open_page(world.url, reader)
    expect(page.get_by_role("link", name="Add a block")).to_have_count(0)
    expect(page.locator("#undo button")).to_have_count(0)
    page.locator("#mon .block:has-text('Math')").click()
    expect(page.locator("#panel")).to_contain_text("No reason is noted yet.")
    expect(page.locator("#panel form")).to_have_count(0)


def test_without_a_connection_the_page_says_so(open_page: OpenPage, world: World) -> None:
    page = open_page(world.url, world.teacher)
    page.context.set_offline(True)
    expect(page.locator("#offline")).to_be_visible()
    page.locator("#mon .block:has-text('Science') a").focus()
    page.keyboard.press("Delete")
    expect(page.locator("#said")).to_contain_text("Nothing was changed; try again once you are connected.")
    page.context.set_offline(False)
    expect(page.locator("#offline")).to_be_hidden()


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_the_week_prints_on_one_page_and_its_ledger_on_another(open_page: OpenPage, world: World, paper: str) -> None:
    page = open_page(world.url, world.teacher)
    printed = page.pdf(format=paper, prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 2


def test_the_strip_in_front_stays_there_after_an_edit(open_page: OpenPage, transactional_db: None) -> None:
    year = make_year(cycle_kind="alternating weeks")
    classroom = make_classroom(year)
    teacher = make_teacher(classroom)
    add(make_week(classroom), teacher, ("B-mon", "08:00", "09:00", "math"))
    page = open_page(f"/classrooms/{classroom.pk}/week/", teacher)
    expect(page.locator("#B-mon")).to_be_hidden()
    page.get_by_role("link", name="Week B").click()
    page.locator("#B-mon .block a").focus()
    page.keyboard.press("Alt+ArrowRight")
    expect(page.locator("#said")).to_contain_text("Math moved to B Tue 8:00.")
    expect(page.locator("#B-tue .block a")).to_be_focused()
    expect(page.locator("#A-mon")).to_be_hidden()


@pytest.mark.parametrize("name", ["403.html", "403_csrf.html", "404.html", "500.html"])
def test_a_page_of_refusal_says_what_to_do_next(name: str) -> None:
    shown = render_to_string(name)
    assert "Go to your classrooms" in shown
    assert "!" not in re.sub(r"<!doctype html>", "", shown)


def test_a_block_that_has_the_focus_keeps_its_measure_on_paper(open_page: OpenPage, world: World) -> None:
    Block.objects.update(why="Because the long reason of this block would not fit into the time it takes. " * 9)
    page = open_page(world.url, world.teacher)
    link = page.locator(".block > a").first
    page.keyboard.press("Tab")
    link.focus()
    page.emulate_media(media="print")
    heights = link.evaluate("link => [link.offsetHeight, link.parentElement.offsetHeight]")
    assert heights[0] <= heights[1]
    assert link.evaluate("link => getComputedStyle(link).outlineStyle") == "none"
