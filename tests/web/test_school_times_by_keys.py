"""An empty year gets its activities and bell schedules in a browser: by keys alone, and without scripts."""

from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from scheduling.models import BellSchedule
from teamroom.common.clock import written_clock
from teamroom.dates.models import DayKind, School, SchoolYear
from teamroom.dates.services import begin_school_year
from teamroom.members.models import Member
from tests import factories as make
from tests.web.conftest import OpenPage
from tests.web.looks import faults, fits, sizes

MOST_TABS = 120


@pytest.fixture
def year(transactional_db: None) -> SchoolYear:
    """A year with two kinds of day, and nothing else."""
    school = School.objects.create(name="Alder Elementary", time_zone="America/Chicago", place="US-CA")
    year = begin_school_year(school, name="2026-27", first_day=make.FIRST_DAY, last_day=make.LAST_DAY)
    DayKind.objects.create(year=year, key="minimum", name="Minimum day")
    return make.begin(year)


@pytest.fixture
def administrator(year: SchoolYear) -> Member:
    return make.make_coordinator(year.school, "Ada", "administrator")


def reach(page: Page, what: Locator, key: str = "Tab") -> None:
    """Go on with the Tab key until something has the focus."""
    for _ in range(MOST_TABS):
        page.keyboard.press(key)
        if what.evaluate("element => element === document.activeElement"):
            return
    raise AssertionError(f"Tab never reaches {what}")


def press(page: Page, what: Locator, key: str = "Enter") -> None:
    reach(page, what)
    page.keyboard.press(key)


def fill(page: Page, what: Locator, typed: str) -> None:
    reach(page, what)
    page.keyboard.type(typed)


def schedules(year: SchoolYear) -> dict[tuple[str, str], tuple[str, str, list[str]]]:
    return {
        (bell.grade, bell.kind.key): (
            written_clock(bell.start),
            written_clock(bell.dismissal),
            [
                f"{one.activity} {written_clock(one.start)}-{written_clock(one.end)}"
                for one in bell.fixed.order_by("start")
            ],
        )
        for bell in BellSchedule.objects.filter(year=year)
    }


def test_an_empty_year_gets_its_activities_and_bells_by_keys_alone(
    open_page: OpenPage, year: SchoolYear, administrator: Member
) -> None:
    page = open_page(f"/years/{year.pk}/activities/", administrator, locale="en-US")
    expect(page.get_by_role("heading", name="No activity yet")).to_be_visible()
    assert faults(page) == []
    press(page, page.get_by_role("link", name="Add the usual ones"))
    press(page, page.get_by_role("checkbox", name="Snack"), "Space")
    press(page, page.get_by_role("button", name="Add what is ticked"))
    expect(page.get_by_role("status")).to_contain_text("Bells, rules and blocks can use them now.")
    assert faults(page) == []

    press(page, page.get_by_role("link", name="Bells", exact=True))
    press(page, page.get_by_role("link", name="Add the first times"))
    expect(page.get_by_role("heading", name="The first bell times")).to_be_visible()
    assert faults(page) == []
    fill(page, page.get_by_label("Start", exact=True), "0750AM")
    fill(page, page.get_by_label("Dismissal"), "0205PM")
    for number, (what, start, end) in enumerate(
        (("Recess", "0925AM", "0940AM"), ("Snack", "1000AM", "1010AM"), ("Lunch", "1125AM", "1205PM"))
    ):
        row = page.get_by_role("group", name=f"Row {number + 1}", exact=True)
        fill(page, row.get_by_label("What"), what)
        fill(page, row.get_by_label("From"), start)
        fill(page, row.get_by_label("To"), end)
    expect(page.get_by_role("group", name="Row 4", exact=True)).to_be_visible()
    expect(page.locator(".bell-picture .day-strip i")).to_have_text(["Recess", "Snack", "Lunch"])
    fill(page, page.get_by_label("Grades", exact=True), "K, 1")
    press(page, page.get_by_role("checkbox", name="Minimum day"), "Space")
    assert faults(page) == []
    press(page, page.get_by_role("button", name="Save these times"))
    expect(page.get_by_role("status")).to_contain_text("Grades K and 1 on a regular day and a minimum day: 7:50")
    wanted = ("07:50", "14:05", ["Recess 09:25-09:40", "Snack 10:00-10:10", "Lunch 11:25-12:05"])
    assert schedules(year) == {(grade, kind): wanted for grade in ("K", "1") for kind in ("regular", "minimum")}
    assert faults(page) == []

    # Grades with the same times share a line, and its Edit gives times to all of them but those unticked.
    press(page, page.get_by_role("link", name="Edit Grades K and 1, Minimum day"))
    fill(page, page.get_by_label("Dismissal"), "1230PM")
    press(page, page.get_by_role("checkbox", name="Grade K, Minimum day"), "Space")
    press(page, page.get_by_role("button", name="Save these times"))
    expect(page.get_by_role("status")).to_contain_text("Grade 1 on a minimum day: 7:50\N{EN DASH}12:30")
    assert schedules(year) == {(grade, kind): wanted for grade in ("K", "1") for kind in ("regular", "minimum")} | {
        ("1", "minimum"): ("07:50", "12:30", wanted[2])
    }


def test_without_scripts_there_are_rows_enough_and_more_after_each_answer(
    open_page: OpenPage, year: SchoolYear, administrator: Member
) -> None:
    page = open_page(f"/years/{year.pk}/activities/add/", administrator, java_script_enabled=False)
    page.get_by_label("Activities, one on a line").fill("Lunch\nRecess\nChoir")
    page.get_by_role("button", name="Add them").click()
    page.get_by_role("link", name="Bells", exact=True).click()
    page.get_by_role("link", name="Add the first times").click()
    page.get_by_label("Start", exact=True).fill("08:00")
    page.get_by_label("Dismissal").fill("14:00")
    for number, (what, start, end) in enumerate((("Lunch", "12:00", "12:30"), ("Recess", "12:20", "12:40"))):
        row = page.get_by_role("group", name=f"Row {number + 1}", exact=True)
        row.get_by_label("What").select_option(what)
        row.get_by_label("From").fill(start)
        row.get_by_label("To").fill(end)
    page.get_by_label("Grades", exact=True).fill("4")
    page.get_by_role("button", name="Save these times").click()
    expect(page.locator(".fixed-row .fault")).to_have_text(
        [
            r"Row 2, Recess, takes time that row 1 gives to Lunch, "
            "12:00\N{EN DASH}12:30: move one of them, or give them different days."
        ]
    )
    page.get_by_role("group", name="Row 2", exact=True).get_by_label("From").fill("12:30")
    row = page.get_by_role("group", name="Row 3", exact=True)
    row.get_by_label("What").select_option("Choir")
    row.get_by_label("From").fill("13:00")
    row.get_by_label("To").fill("13:30")
    page.get_by_role("button", name="Save these times").click()
    expect(page.get_by_role("status")).to_contain_text("Grade 4 on a regular day")
    assert schedules(year)["4", "regular"][2] == ["Lunch 12:00-12:30", "Recess 12:30-12:40", "Choir 13:00-13:30"]


@sizes
def test_axe_finds_nothing_on_the_pages_of_a_full_year(
    open_page: OpenPage, transactional_db: None, size: dict[str, Any]
) -> None:
    year = make.make_year()
    ada = make.make_coordinator(year.school, "Ada", "administrator")
    room = make.make_classroom(year)
    make.make_classroom(year, "room31", ("5",))
    make.make_classroom(year, "room32", ("6",))
    for grade in ("5", "6"):
        year.bell_schedules.create(grade=grade, kind=year.day_kinds.get(key="regular"), start=480, dismissal=900)
    make.add(make.make_week(room), make.make_teacher(room), ("mon", "08:00", "09:00", "math"))
    math, art, bell = (
        year.activities.get(key="math"),
        year.activities.get(key="art"),
        year.bell_schedules.get(grade="4", kind__key="regular"),
    )
    bell.fixed.create(activity=year.activities.get(key="lunch"), start=720, end=750)
    bell.fixed.create(activity=year.activities.get(key="pe"), start=780, end=820, days=["mon", "wed"])
    make.begin(year)
    paths = [
        "activities/",
        "activities/add/",
        "activities/usual/",
        f"activities/{math.pk}/",
        f"activities/{art.pk}/",
        f"activities/{art.pk}/rename/",
        "bells/",
        f"bells/set/?for=4:{bell.kind_id}",
        f"bells/{bell.pk}/remove/",
    ]
    page = open_page("/", ada, **size)
    base = page.url.rstrip("/")
    found = {}
    for path in paths:
        page.goto(f"{base}/years/{year.pk}/{path}")
        found[path] = faults(page) + ([] if fits(page) else ["wider than the screen"])
    page.goto(f"{base}/years/{year.pk}/bells/set/?for=4:{bell.kind_id}")
    page.get_by_label("Dismissal").fill("12:10")
    page.get_by_role("button", name="Save these times").click()
    expect(page.locator(".fixed-row .fault").first).to_be_visible()
    found["refused"] = faults(page)
    assert {path: some for path, some in found.items() if some} == {}
