"""The calendar in Chromium: a day closed with the keyboard alone, without scripts, on small screens and paper."""

import datetime as dt
from typing import Any, Literal

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from scheduling.models import CalendarWork
from scheduling.services import calendar, calendar_work, day_changes
from scheduling.services.day_changes import Happening
from scheduling.services.deeds import Close
from scheduling.tasks import do_calendar_work
from teamroom.dates.models import SchoolYear
from teamroom.members.models import DistrictRole, Member
from tests.factories import make_classroom, make_coordinator, make_year
from tests.web.conftest import OpenPage, World
from tests.web.looks import faults, fits, sizes

MONDAY = dt.date(2026, 9, 14)
DAY = dt.timedelta(days=1)
Scheme = Literal["light", "dark"]


@pytest.fixture
def principal(world: World) -> Member:
    """The administrator of a school whose calendar has something of everything."""
    year = world.year
    SchoolYear.objects.filter(pk=year.pk).update(required_days=38, required_days_source="District policy 6112")
    calendar.close_dates(year, MONDAY + 7 * DAY, MONDAY + 11 * DAY, "Fall break")
    calendar.set_day_kind(year, MONDAY + 2 * DAY, year.day_kinds.get(key="minimum"))
    day_changes.place(year, Happening(MONDAY + 3 * DAY, "Assembly", start=540, end=570))
    member = make_coordinator(year.school, "Ada", "administrator")
    DistrictRole.objects.create(member=member)
    return member


def at(name: str, *args: Any) -> str:
    return reverse(f"scheduling:{name}", args=args)


@sizes
def test_axe_finds_nothing_on_any_page_of_the_calendar(
    open_page: OpenPage, world: World, principal: Member, size: dict[str, Any]
) -> None:
    year = world.year.pk
    storm = Close(MONDAY, MONDAY, "Storm")
    preview = calendar_work.try_out(world.year, storm, principal)
    done = calendar_work.say_yes(calendar_work.try_out(world.year, storm, principal), principal)
    waiting = CalendarWork.objects.create(year=world.year, asked=preview.asked, classrooms=1000)
    refused = CalendarWork.objects.create(year=world.year, asked=preview.asked, state="refused", fault="It is closed.")
    change = world.year.day_changes.get()
    batches = [at("schools-close-batch", one.batch) for one in (preview, done, waiting)]
    paths = [
        at("calendar", year),
        *(at("calendar-day", year, MONDAY + n * DAY) for n in (0, 2, 3, 5)),
        *(at(f"calendar-{verb}", year, MONDAY + DAY) for verb in ("close", "kind", "change-add")),
        *(at(f"calendar-{verb}", year, MONDAY + 8 * DAY) for verb in ("reopen", "closure")),
        at("calendar-change", year, change.pk),
        at("calendar-change-lift", year, change.pk),
        *(at("calendar-work", year, work.pk) for work in (preview, done, waiting, refused)),
        at("schools-close"),
        *batches,
    ]
    page = open_page("/", principal, **size)
    base = page.url.rstrip("/")
    found = {}
    for path in paths:
        page.goto(f"{base}{path}")
        page.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
        found[path] = faults(page) + ([] if fits(page) else ["wider than the screen"])
    assert {path: some for path, some in found.items() if some} == {}


def focused(page: Page) -> str:
    """The date, or the words, of what has the focus."""
    return str(
        page.evaluate(
            "(one => one.matches('a, button, summary') ? one.dataset.date ?? one.textContent.trim() : '')"
            "(document.activeElement)"
        )
    )


def press_to(page: Page, words: str) -> None:
    """Tab on until what has the focus says so."""
    for _ in range(60):
        page.keyboard.press("Tab")
        if words in focused(page):
            return
    raise AssertionError(f"{words} is not reached by Tab")


def test_a_day_is_closed_and_opened_again_with_the_keyboard_alone(
    open_page: OpenPage, world: World, principal: Member
) -> None:
    page = open_page(at("calendar", world.year.pk), principal)
    press_to(page, "2026-09-07")
    for key, date in [
        ("ArrowDown", "2026-09-14"),
        ("ArrowRight", "2026-09-15"),
        ("End", "2026-09-20"),
        ("Home", "2026-09-14"),
        ("PageDown", "2026-10-14"),
        ("PageUp", "2026-09-14"),
        ("ArrowLeft", "2026-09-13"),
        ("ArrowUp", "2026-09-13"),
    ]:
        page.keyboard.press(key)
        # The year begins on the 7th: nothing lies above the 13th, and the focus stays.
        assert focused(page) == (date if key != "ArrowUp" else "2026-09-13")
    page.keyboard.press("Tab")
    assert focused(page).startswith("2026-10"), "each month is one tab stop"
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.locator("#panel h1")).to_have_text("Monday 14 September 2026")
    assert faults(page) == []
    press_to(page, "Close it")
    page.keyboard.press("Enter")
    page.get_by_label("What for").focus()
    page.keyboard.type("Storm")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Close Mon 14 Sep (Storm)?")
    expect(page.get_by_text("a rule falls short").first).to_be_visible()
    press_to(page, "Close Mon 14 Sep (Storm)")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Mon 14 Sep is closed: Storm.")
    assert world.year.closures.filter(first_day=MONDAY).exists()
    press_to(page, "Undo this")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("is as before")
    assert not world.year.closures.filter(first_day=MONDAY).exists()
    assert not world.differs_from_scratch()


def test_escape_closes_a_date_and_gives_the_focus_back(open_page: OpenPage, world: World, principal: Member) -> None:
    page = open_page(at("calendar", world.year.pk), principal)
    page.locator("[data-date='2026-09-16']").click()
    expect(page.locator("#panel h1")).to_be_visible()
    page.keyboard.press("Escape")
    assert focused(page) == "2026-09-16"


def test_without_scripts_a_day_is_closed_and_opened_again(open_page: OpenPage, world: World, principal: Member) -> None:
    page = open_page(at("calendar", world.year.pk), principal, java_script_enabled=False)
    page.get_by_role("link", name="Mon 14 Sep, Regular day").click()
    page.get_by_role("link", name="Close it").click()
    page.get_by_label("What for").fill("Storm")
    page.get_by_role("button", name="See what it does").click()
    page.locator("summary").first.click()
    expect(page.get_by_text("short by").first).to_be_visible()
    page.get_by_role("button", name="Close Mon 14 Sep (Storm)").click()
    expect(page.get_by_role("heading", name="Mon 14 Sep is closed: Storm.")).to_be_visible()
    page.get_by_role("button", name="Undo this").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("is as before")


@pytest.mark.parametrize("scripts", [True, False], ids=["by itself", "by reloading"])
def test_a_big_closing_shows_how_far_it_is_until_it_is_done(
    open_page: OpenPage, world: World, principal: Member, monkeypatch: pytest.MonkeyPatch, scripts: bool
) -> None:
    monkeypatch.setattr(calendar_work, "MOST_AT_ONCE", 0)
    page = open_page(at("calendar-close", world.year.pk, MONDAY), principal, java_script_enabled=scripts)
    page.get_by_label("What for").fill("Storm")
    page.get_by_role("button", name="See what it does").click()
    expect(page.get_by_text("Waits for its turn.")).to_be_visible()
    CalendarWork.objects.update(state="working", classrooms=1000, classrooms_done=300)
    expect(page.get_by_text("300 of 1000 classrooms worked out.")).to_be_visible()
    CalendarWork.objects.update(state="waiting")
    do_calendar_work()
    page.get_by_role("button", name="Close Mon 14 Sep (Storm)").click()
    expect(page.get_by_text("Waits for its turn.")).to_be_visible()
    do_calendar_work()
    expect(page.get_by_role("heading", name="Mon 14 Sep is closed: Storm.")).to_be_visible()


def test_many_schools_are_closed_from_one_page(open_page: OpenPage, world: World, principal: Member) -> None:
    make_classroom(make_year("Brook School"))
    page = open_page(at("schools-close"), principal)
    page.get_by_label("What for").fill("Snow day")
    page.get_by_label("First day closed").fill("2026-09-15")
    page.get_by_role("button", name="See what it does").click()
    expect(page.get_by_text("0% worked out")).to_be_visible()
    do_calendar_work()
    page.get_by_role("button", name="Close Tue 15 Sep (Snow day) in 2 schools").click()
    do_calendar_work()
    expect(page.get_by_text("It changed 2 schools")).to_be_visible()
    assert [year.closures.filter(name="Snow day").count() for year in SchoolYear.objects.all()] == [1, 1]


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_the_calendar_of_a_whole_year_fits_one_sheet(open_page: OpenPage, world: World, paper: str) -> None:
    year = make_year(
        "Long School", first_day=dt.date(2026, 8, 17), last_day=dt.date(2027, 6, 18), cycle_kind="rotating days"
    )
    for n in range(12):
        date = dt.date(2026, 9, 2) + dt.timedelta(days=21 * n)
        calendar.close_dates(year, date, date, f"Teachers' day number {n}")
        day_changes.place(year, Happening(date + DAY, "A rehearsal in the hall", start=540, end=570))
    page = open_page(at("calendar", year.pk), make_coordinator(year.school))
    assert page.pdf(format=paper).count(b"/Type /Page\n") == 1
