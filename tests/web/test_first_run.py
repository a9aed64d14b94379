"""From an empty database to a counted week, by the screens alone."""

import re
from dataclasses import dataclass
from urllib.parse import urljoin

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from scheduling.models import Block, Reading, Rule
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Member
from teamroom.members.services.first_administrator import make_first_link
from tests.web.conftest import OpenPage
from tests.web.looks import LAPTOP, PHONE, faults, fits

DAY = (("Recess", "10:00", "10:15"), ("Lunch", "11:45", "12:15"))


@dataclass
class FirstRun:
    """One newcomer at one browser; each screen they come to is looked at as they leave it."""

    page: Page

    def look(self, name: str) -> None:
        """Nothing that axe finds, and nothing wider than a telephone or a laptop."""
        wrong = faults(self.page)
        for size in (PHONE, LAPTOP):
            self.page.set_viewport_size(size["viewport"])
            wrong += [] if fits(self.page) else [f"wider than {size['viewport']['width']} pixels"]
        assert (name, wrong) == (name, [])

    def press(self, name: str) -> None:
        self.page.get_by_role("button", name=name, exact=True).click()

    def follow(self, name: str) -> None:
        self.page.get_by_role("link", name=name, exact=True).first.click()

    def fill(self, **fields: str) -> None:
        for label, value in fields.items():
            self.page.get_by_label(label.replace("_", " "), exact=True).fill(value)


@pytest.mark.django_db(transaction=True)
def test_a_newcomer_comes_from_an_empty_database_to_a_counted_week(open_page: OpenPage) -> None:
    run = FirstRun(open_page("/"))
    _become_the_administrator(run)
    _begin_the_school(run)
    _dates_and_closures(run)
    _activities_and_bells(run)
    _rules(run)
    _team_and_classroom(run)
    _week(run)
    _set_up(run)


def _become_the_administrator(run: FirstRun) -> None:
    expect(run.page.get_by_role("heading", name="Nobody is here yet")).to_be_visible()
    run.look("an empty installation")
    token = make_first_link()
    run.page.goto(urljoin(run.page.url, reverse("first", args=[token])))
    run.look("the first link")
    run.fill(Your_name="Fay Ostrander", Passphrase="seven quiet lanterns at dusk")
    run.page.get_by_label("E-mail address").fill("fay@school.example")
    run.press("Become the administrator")
    expect(run.page.get_by_role("heading", name="Begin the first school")).to_be_visible()
    assert Member.objects.get().name == "Fay Ostrander"


def _begin_the_school(run: FirstRun) -> None:
    run.look("beginning a school")
    run.fill(Name_of_the_school="Fernhollow Elementary", First_day_of_school="2026-09-01")
    run.fill(Last_day_of_school="2027-06-11")
    run.page.get_by_label("State or territory").select_option(label="Wisconsin")
    run.press("Begin the school")
    expect(run.page.locator(".steps .next")).to_contain_text("Closures")
    run.look("the list of an empty school")


def _dates_and_closures(run: FirstRun) -> None:
    run.follow("School and year dates")
    run.fill(School_days_required="180")
    run.press("Save")
    run.look("dates")
    run.follow("Next: Closures")
    run.look("closures")
    run.follow("Choose holidays")
    run.look("holidays")
    run.press("Close the ticked days")
    expect(run.page.locator("main")).to_contain_text("9 closures added. The year has 195 school days now.")
    run.follow("Next: Day kinds, standing days and the cycle")
    run.look("day kinds")
    run.follow("Next: Activities")


def _activities_and_bells(run: FirstRun) -> None:
    run.look("no activity yet")
    run.follow("Add the usual ones")
    run.look("the usual activities")
    run.press("Add what is ticked")
    run.look("activities")
    run.follow("Next: Bell schedules")
    run.look("no bell yet")
    run.follow("Add the first times")
    run.fill(Start="08:00", Dismissal="14:45", Grades="4")
    for row, (name, start, end) in zip(run.page.locator("fieldset.fixed-row").all(), DAY, strict=False):
        row.get_by_label("What").select_option(label=name)
        row.get_by_label("From").fill(start)
        row.get_by_label("To").fill(end)
    run.look("the first bell times")
    run.press("Save these times")
    run.look("bells")
    run.follow("Next: Rules")


def _rules(run: FirstRun) -> None:
    run.look("no rule yet")
    run.follow("Adopt published rules")
    expect(run.page.get_by_label("For grades")).to_have_value("4")
    run.look("the library")
    run.press("Adopt the ticked rules")
    expect(run.page.locator("main")).to_contain_text("rules added")
    assert Rule.objects.filter(standing="law").exists()
    run.look("rules")
    run.follow("Next: Teams and classrooms")


def _team_and_classroom(run: FirstRun) -> None:
    run.look("no team yet")
    run.follow("Add the first team")
    run.fill(Name="Grade 4", Grades="4")
    run.look("a team's form")
    run.press("Add the team")
    run.follow("Add the first one")
    run.fill(Name="Room 12", Grades="4", Pupils="24")
    run.look("a classroom's form")
    run.press("Add the classroom")
    run.look("teams and classrooms")
    run.follow("Next: People")
    run.look("people")
    run.follow("Next: the first week")
    expect(run.page.locator(".steps .next")).to_contain_text("begin with Room 12")


def _week(run: FirstRun) -> None:
    run.follow("The first week")
    run.look("no week yet")
    run.press("Begin the week")
    run.look("an empty week")
    run.follow("Add a block")
    panel = run.page.locator("dialog[open]")
    panel.get_by_label("Activity", exact=True).first.select_option(label="Mathematics")
    panel.get_by_label("Start").fill("08:00")
    panel.get_by_label("End").fill("09:00")
    panel.get_by_role("button", name="Add the block").click()
    expect(run.page.locator("#said")).to_contain_text("Mathematics added on Mon 8:00")
    expect(run.page.locator(".ledger .since").first).to_contain_text("more than before")
    run.look("a counted week")
    assert Block.objects.get().activity.name == "Mathematics"
    assert Reading.objects.filter(rule__standing="law", part=0, planned__gt="0").exists()


def _set_up(run: FirstRun) -> None:
    run.follow("Set-up")
    expect(run.page.locator("main")).to_contain_text("Nothing is missing.")
    run.look("the list of a school that is set up")
    run.press("The school is set up")
    expect(run.page.locator("main")).to_contain_text("is set up. This list stays here")
    assert not SchoolYear.objects.get().being_set_up
    run.follow("Trail")
    expect(run.page.locator(".trail-entries")).to_contain_text(re.compile("The year 2026-27 is set up"))
    run.look("the trail")
    run.page.get_by_role("link", name=re.compile("See each of the")).first.click()
    run.look("a moment of the trail")
