"""Setting the year's calendar up in a browser: holidays, a pasted list, a calendar file; days counted as one types."""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from scheduling.services.calendar import close_dates
from teamroom.dates.models import Closure, SchoolYear
from teamroom.members.models import Member
from tests.factories import make_coordinator
from tests.web.conftest import OpenPage, World
from tests.web.looks import LAPTOP, PHONE, faults, fits, sizes

DISTRICT = """BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//test//EN
BEGIN:VEVENT
UID:1
DTSTART;VALUE=DATE:20260928
DTEND;VALUE=DATE:20260930
SUMMARY:Fall Break
END:VEVENT
BEGIN:VEVENT
UID:2
DTSTART;TZID=America/Chicago:20260909T123000
DTEND;TZID=America/Chicago:20260909T150000
RRULE:FREQ=WEEKLY;COUNT=3
SUMMARY:Early Release Wednesday
END:VEVENT
BEGIN:VEVENT
UID:3
DTSTART:20261008T230000Z
DTEND:20261009T010000Z
SUMMARY:Board Meeting
END:VEVENT
BEGIN:VEVENT
UID:4
SUMMARY:Nobody knows when
END:VEVENT
END:VCALENDAR
"""
PASTED = (
    "Date\tName\nOct 12, 2026\tFall holiday\nOct 26-30\tFall recess\n9/12/2026\tA Saturday\nsomeday\tGone fishing\n"
)


@pytest.fixture
def admin(world: World) -> Member:
    SchoolYear.objects.filter(pk=world.year.pk).update(being_set_up=True, required_days=40)
    return make_coordinator(world.year.school, "Ada", "administrator")


def at(world: World, name: str, *more: Any) -> str:
    return reverse(f"scheduling:{name}", args=[world.year.pk, *more])


def sound(page: Page) -> list[str]:
    return faults(page) + ([] if fits(page) else ["wider than the screen"])


@pytest.mark.parametrize("how", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_a_calendar_file_is_looked_through_and_written(
    open_page: OpenPage, world: World, admin: Member, how: dict[str, Any], tmp_path: Path
) -> None:
    file = tmp_path / "district.ics"
    file.write_text(DISTRICT)
    page = open_page(at(world, "closure-import"), admin, **how)
    assert sound(page) == []
    page.get_by_label("Calendar file").set_input_files(file)
    page.get_by_role("button", name="Read the calendar").click()
    chosen = page.get_by_role("combobox")
    expect(chosen).to_have_count(3)
    assert [select.input_value() for select in chosen.all()] == [
        str(world.year.day_kinds.get(key="minimum").pk),
        "close",
        "nothing",
    ]
    expect(page.get_by_text("Nobody knows when")).to_be_visible()
    assert sound(page) == []
    page.get_by_role("button", name="Write this into the calendar").click()
    # The break takes Monday and Tuesday out of a week whose mathematics was met by them.
    expect(page.get_by_text("Nothing is saved yet")).to_be_visible()
    assert not Closure.objects.exists()
    assert sound(page) == []
    page.get_by_role("button", name="Write this into the calendar all the same").click()
    expect(page.get_by_role("status").first).to_contain_text("1 closure added. 3 dates got a kind of day.")
    assert world.year.calendar_days.count() == 3
    assert not world.differs_from_scratch()


@pytest.mark.parametrize("how", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_a_pasted_list_and_the_holidays_are_ticked_and_closed(
    open_page: OpenPage, world: World, admin: Member, how: dict[str, Any]
) -> None:
    page = open_page(at(world, "closures"), admin, **how)
    assert sound(page) == []
    page.get_by_role("link", name="Paste lines").click()
    page.get_by_label("Dates and names").fill(PASTED)
    page.get_by_role("button", name="Read the lines").click()
    expect(page.get_by_role("checkbox")).to_have_count(2)
    expect(page.get_by_text("Gone fishing")).to_have_count(2)
    assert sound(page) == []
    page.get_by_role("checkbox", name="Close line 2").uncheck()
    page.get_by_role("button", name="Close the ticked lines").click()
    if page.get_by_text("Nothing is saved yet").count():
        page.get_by_role("button", name="Close the ticked lines all the same").click()
    expect(page.get_by_role("listitem").filter(has_text="Fall recess")).to_contain_text("5 school days")
    page.get_by_role("link", name="Choose holidays").click()
    expect(page.get_by_role("checkbox", name="Labor Day")).to_be_checked()
    assert sound(page) == []
    page.get_by_role("checkbox", name="Labor Day").uncheck()
    page.get_by_role("button", name="Close the ticked days").click()
    if page.get_by_text("Nothing is saved yet").count():
        page.get_by_role("button", name="Close the ticked days all the same").click()
    expect(page.get_by_role("listitem").filter(has_text="Columbus Day")).to_contain_text("1 school day")
    assert [closure.name for closure in Closure.objects.order_by("first_day")] == ["Columbus Day", "Fall recess"]


def test_school_days_are_counted_while_the_dates_are_typed(open_page: OpenPage, world: World, admin: Member) -> None:
    page = open_page(at(world, "year-dates"), admin)
    expect(page.get_by_role("status")).to_contain_text("40 school days, exactly the 40")
    page.get_by_label("Last day of school").fill("2026-10-29")
    expect(page.get_by_role("status")).to_contain_text("39 school days, 1 fewer than the 40")
    page.get_by_label("School days required").fill("38")
    expect(page.get_by_role("status")).to_contain_text("1 more than the 38")


def test_the_first_weeks_follow_the_cycle_that_is_chosen(open_page: OpenPage, world: World, admin: Member) -> None:
    page = open_page(at(world, "day-kinds"), admin)
    strip = page.get_by_role("region", name="The first three weeks")
    expect(page.get_by_label("Days in the rotation")).to_be_hidden()
    page.get_by_label("Rotating days").check()
    expect(strip.get_by_role("listitem").nth(4)).to_contain_text("Day 5")
    page.get_by_label("Days in the rotation").fill("3")
    page.get_by_label("Days in the rotation").blur()
    expect(strip.get_by_role("listitem").nth(4)).to_contain_text("Day 2")


@sizes
def test_axe_finds_nothing_on_the_pages_of_the_year_s_calendar(
    open_page: OpenPage, world: World, admin: Member, size: dict[str, Any]
) -> None:
    close_dates(world.year, dt.date(2026, 10, 12), dt.date(2026, 10, 13), "Fall holiday")
    closure = Closure.objects.get().pk
    kind = world.year.day_kinds.get(key="minimum").pk
    paths = [
        *(at(world, name) for name in ("year-dates", "day-kinds", "closures", "closure-add", "closure-holidays")),
        *(at(world, name) for name in ("closure-paste", "closure-import")),
        *(at(world, name, closure) for name in ("closure-change", "closure-remove")),
        at(world, "day-kind-rename", kind),
    ]
    page = open_page("/", admin, **size)
    base = page.url.rstrip("/")
    found = {}
    for path in paths:
        page.goto(f"{base}{path}")
        found[path] = sound(page)
    page.goto(f"{base}{paths[0]}")
    page.get_by_label("Last day of school").fill("2026-10-12")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", name="Outside these dates")).to_be_visible()
    found["outside"] = sound(page)
    assert {path: some for path, some in found.items() if some} == {}
