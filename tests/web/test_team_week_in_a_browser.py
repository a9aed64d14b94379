"""The team's week in a browser: by keys alone, followed while others work, on a phone without scripts, on paper."""

import os
from collections.abc import Iterator
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, Page, expect

from scheduling.models import Activity, Block, SharedResource, Week
from scheduling.services.shared_resources import add_resource
from teamroom.members.models import Member
from tests.factories import FIRST_DAY, add, make_classroom, make_coordinator, make_week
from tests.live.serving import Server, a_server, wait_until_it_answers
from tests.web.conftest import OpenPage, World
from tests.web.looks import LAPTOP, PHONE, faults, sizes
from tests.web.test_accounts_in_a_browser import too_wide
from tests.web.test_history_in_a_browser import tab_to
from tests.web.test_live_week import SOON, signed_in_at

PICTURES = os.environ.get("TEAMROOM_PICTURES", "")
DASH = "\N{EN DASH}"


def picture(page: Page, name: str) -> None:
    if PICTURES:
        page.screenshot(path=f"{PICTURES}/{name}.png", full_page=True)


@pytest.fixture
def other(world: World) -> Week:
    """The next room of the team; on Mondays both have art at 1:00, and both want the lab in science."""
    Activity.objects.filter(year=world.year, key="art").update(frees_teacher=True)
    team = world.classroom.team
    team.edits_together = True
    team.save()
    week = make_week(make_classroom(world.year, "room14"))
    add(week, world.teacher, ("mon", "10:30", "11:15", "science"), ("mon", "13:00", "13:40", "art"))
    add(world.week, world.teacher, ("mon", "13:10", "13:50", "art"))
    add_resource(world.year, name="Science lab", capacity=1)
    return week


@pytest.fixture
def ada(world: World) -> Member:
    return make_coordinator(world.year.school, "Ada", "administrator")


def team_url(world: World, **asked: object) -> str:
    query = "&".join(f"{name}={value}" for name, value in {"on": FIRST_DAY, **asked}.items())
    return f"{reverse('scheduling:team-week', args=[world.classroom.team_id])}?{query}"


def science(week: Week) -> Block:
    return Block.objects.get(column__week=week, column__day="mon", activity__key="science")


def test_a_lab_is_shared_needed_and_got_out_of_the_way_of_by_keys_alone(
    open_page: OpenPage, world: World, other: Week, ada: Member
) -> None:
    page = open_page(reverse("scheduling:shared-resources", args=[world.year.pk]), ada)
    tab_to(page, "Add something shared")
    page.keyboard.press("Enter")
    page.get_by_label("What it is").focus()
    page.keyboard.type("Classroom aide")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("Classroom aide: one class at a time.")
    lab = SharedResource.objects.get(name="Science lab")
    for week in (world.week, other):
        page.goto(page.url.split("/years/")[0] + team_url(world, day="mon"))
        page.locator(f".cell[data-pk='{science(week).pk}'] a").focus()
        page.keyboard.press("Enter")
        page.locator("#panel summary", has_text="Needs a room").focus()
        page.keyboard.press("Enter")
        page.get_by_label("Needs 1").focus()
        page.keyboard.type("Science")
        picture(page, "team-needs")
        page.get_by_role("button", name="Save the block").focus()
        page.keyboard.press("Enter")
        expect(page.locator("#said")).to_contain_text("Science on Mon")
    expect(page.locator("#said")).to_contain_text("Science lab is also Room12’s from 10:30 to 11:00 on Monday.")
    expect(page.locator(".cell.clash")).to_have_count(2)
    expect(page.get_by_role("complementary")).to_contain_text(f"Science lab, Monday 10:30{DASH}11:00")
    picture(page, "team-clash")
    assert faults(page) == []
    # Focus is back on the block; it is moved out of the way and, for once, back again.
    expect(page.locator(f".cell[data-pk='{science(other).pk}'] a")).to_be_focused()
    page.keyboard.press("Enter")
    page.get_by_label("Start").fill("11:00")
    page.get_by_label("End").fill("11:45")
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text("no longer wanted by more classes than can have it")
    expect(page.locator(".cell.clash")).to_have_count(0)
    page.get_by_role("button", name="Undo").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text("Undone: Science is back on Mon 10:30")
    expect(page.locator(".cell.clash")).to_have_count(2)
    page.get_by_role("complementary").get_by_role("link", name="Science lab").press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text(lab.name)
    assert faults(page) == []
    assert not world.differs_from_scratch()


def test_the_day_and_the_view_are_chosen_by_keys_and_stand_in_the_address(
    open_page: OpenPage, world: World, other: Week
) -> None:
    page = open_page(team_url(world), world.teacher)
    expect(page.locator(".all-free")).to_contain_text(f"1:10{DASH}1:40")
    tab_to(page, "Tue")
    page.keyboard.press("Enter")
    expect(page.locator(".all-free")).to_have_count(0)
    expect(page.get_by_role("navigation", name="Days").get_by_text("Tue")).to_have_attribute("aria-current", "page")
    assert "day=tue" in page.url
    tab_to(page, "Every day, small")
    page.keyboard.press("Enter")
    expect(page.get_by_role("img", name=f"All free 1:10{DASH}1:40")).to_be_visible()
    tab_to(page, "One classroom")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Room12")).to_have_count(1)
    tab_to(page, "Room14")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Room14")).to_have_count(1)
    expect(page.get_by_role("heading", name="Friday")).to_be_visible()
    assert "view=classroom" in page.url and f"room={other.classroom_id}" in page.url
    page.get_by_label("Free for at least").select_option("45")
    page.get_by_role("button", name="Show").press("Enter")
    expect(page.get_by_text("All are never free at once")).to_be_visible()
    assert "view=classroom" in page.url


def test_a_phone_shows_one_classroom_with_the_common_times_below_without_scripts_too(
    open_page: OpenPage, world: World, other: Week
) -> None:
    page = open_page(team_url(world, day="mon"), world.teacher, **{**PHONE, "java_script_enabled": False})
    mine, theirs = (page.get_by_role("heading", name=name, exact=True) for name in ("Room12", "Room14"))
    expect(mine).to_be_visible()
    expect(theirs).to_be_hidden()
    page.get_by_role("navigation", name="Classrooms").get_by_role("link", name="Room14").click()
    expect(theirs).to_be_visible()
    expect(mine).to_be_hidden()
    band = page.get_by_role("cell", name=f"1:10{DASH}1:40")
    column = page.locator(".day-frame.shown")
    below, above = band.bounding_box(), column.bounding_box()
    assert below and above and below["y"] > above["y"] + above["height"]
    page.locator(f".cell[data-pk='{science(other).pk}'] a").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Science")


@sizes
def test_axe_finds_nothing_and_all_fits(
    open_page: OpenPage, world: World, other: Week, ada: Member, size: dict[str, Any]
) -> None:
    lab = SharedResource.objects.get()
    for week in (world.week, other):
        science(week).uses.create(resource=lab)
    make_classroom(world.year, "room15")
    shared = reverse("scheduling:shared-resources", args=[world.year.pk])
    page = open_page("/", ada, **size)
    base = page.url.rstrip("/")
    for name, path in {
        **{view: team_url(world, view=view) for view in ("day", "classroom", "small", "paper")},
        "shared": shared,
        "lab": f"{shared}{lab.pk}/?on={FIRST_DAY}",
        "add": f"{shared}add/",
        "block": f"/blocks/{science(other).pk}/",
        "activity": reverse("scheduling:activity", args=[world.year.pk, world.year.activities.get(key="art").pk]),
    }.items():
        page.goto(base + path)
        assert faults(page) + too_wide(page) == [], name
        picture(page, f"team-{name}-{size['viewport']['width']}")


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_each_day_is_one_sheet_of_paper_on_its_side(open_page: OpenPage, world: World, other: Week, paper: str) -> None:
    page = open_page(team_url(world, view="paper"), world.teacher)
    printed: bytes = page.pdf(format=paper, prefer_css_page_size=True)
    # Five days, and what there is to say of all of them.
    assert printed.count(b"/Type /Page\n") == 6
    page.goto(page.url.replace("view=paper", "view=day"))
    assert page.pdf(format=paper, prefer_css_page_size=True).count(b"/Type /Page\n") == 2


def test_axe_finds_nothing_in_a_team_of_many_classrooms(open_page: OpenPage, world: World, other: Week) -> None:
    for number in range(12):
        add(make_week(make_classroom(world.year, f"more{number}")), world.teacher, ("mon", "13:00", "13:40", "art"))
    page = open_page(team_url(world, day="mon"), world.teacher, **LAPTOP)
    assert faults(page) + too_wide(page) == []
    widths = page.eval_on_selector_all(".day-frame", "frames => frames.map((one) => one.offsetWidth)")
    assert min(widths) >= 150
    picture(page, "team-many")


@pytest.fixture
def server(world: World, other: Week) -> Iterator[Server]:
    with a_server() as server:
        wait_until_it_answers(server)
        yield server


def test_it_follows_what_others_do_without_reloading_and_focus_stays(
    browser: Browser, server: Server, world: World, other: Week, ada: Member
) -> None:
    base = f"http://127.0.0.1:{server.port}"
    contexts = [signed_in_at(browser, base, member) for member in (ada, world.teacher)]
    teams, mine = (context.new_page() for context in contexts)
    for page, path in ((teams, team_url(world, day="mon")), (mine, world.url)):
        with page.expect_request("**/live/?*"):
            page.goto(base + path)
    held = teams.locator(f".cell[data-pk='{science(other).pk}'] a")
    held.focus()
    block = world.block("math")
    mine.locator(f".cell[data-pk='{block.pk}'] a").focus()
    mine.keyboard.press("Shift+ArrowDown")
    expect(teams.locator(f".cell[data-pk='{block.pk}']")).to_have_attribute("data-length", "65", timeout=SOON)
    expect(held).to_be_focused()
    # A form that is open keeps what was typed in it.
    held.press("Enter")
    why = teams.locator("#panel textarea[name=why]")
    why.fill("The lab is ours")
    mine.keyboard.press("Shift+ArrowDown")
    expect(teams.locator(f".cell[data-pk='{block.pk}']")).to_have_attribute("data-length", "70", timeout=SOON)
    expect(why).to_have_value("The lab is ours")
    teams.get_by_role("button", name="Save the block").click()
    expect(teams.locator("#said")).to_contain_text("Room14: Science on Mon")
    for context in contexts:
        context.close()
