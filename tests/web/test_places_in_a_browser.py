"""Teams, classrooms and specialists in a browser: made by the keyboard alone; narrow and wide, light and dark."""

from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from scheduling.models import SpecialistPost
from scheduling.services import specialists
from scheduling.services.specialists import PostToBe
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, Member, Team
from tests.factories import FIRST_DAY, add, make_classroom, make_coordinator, make_teacher, make_week, make_year
from tests.web.conftest import OpenPage
from tests.web.looks import faults, sizes
from tests.web.test_accounts_in_a_browser import too_wide

LONG = "The one beside the library that is also the music room"


@pytest.fixture
def year(transactional_db: None) -> SchoolYear:
    made = make_year()
    made.school.place = "US-CA"
    made.school.save()
    return made


@pytest.fixture
def ada(year: SchoolYear) -> Member:
    return make_coordinator(year.school, "Ada", "administrator")


def tab_to(page: Page, name: str) -> None:
    """Press Tab until what has that accessible name has the focus."""
    for _ in range(60):
        page.keyboard.press("Tab")
        focus = page.evaluate("document.activeElement.labels?.[0]?.textContent || document.activeElement.textContent")
        if focus.strip().startswith(name):
            return
    raise AssertionError(f"{name!r} was not reached by Tab")


def test_an_administrator_makes_a_team_and_a_classroom_by_the_keyboard_alone(
    open_page: OpenPage, year: SchoolYear, ada: Member
) -> None:
    page = open_page(reverse("members:teams", args=[year.pk]), ada)
    tab_to(page, "Add the first team")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Add a team")
    tab_to(page, "Name")
    page.keyboard.type("Primary")
    tab_to(page, "Grades")
    page.keyboard.type("1-3")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("Primary is there.")

    tab_to(page, "Add a classroom")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Add a classroom to Primary")
    tab_to(page, "Name")
    page.keyboard.type("Room 12")
    tab_to(page, "Grades")
    page.keyboard.type("2")
    # What is published for the grades typed appears beside the form, and fills the field of the cap when it is taken.
    tab_to(page, "Pupils")
    page.keyboard.type("33")
    expect(page.locator("#caps")).to_contain_text("California Education Code 41376")
    tab_to(page, "Use 32")
    page.keyboard.press("Enter")
    cap = page.get_by_role("spinbutton", name="Cap")
    expect(cap).to_have_value("32")
    expect(cap).to_be_focused()
    expect(page.get_by_label("Name", exact=True)).to_have_value("Room 12")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("Room 12 is there. 33 pupils are 1 above its cap of 32")
    expect(page.get_by_role("row", name="Room 12")).to_contain_text("1 above the cap")
    team, room = Team.objects.get(), Classroom.objects.get()
    assert (team.key, team.grades) == ("primary", ["1", "2", "3"])
    assert (room.key, room.team, room.grades, room.enrolment, room.cap) == ("room-12", team, ["2"], 33, 32)


@pytest.fixture
def filled(year: SchoolYear, ada: Member) -> SpecialistPost:
    """Two classes that want the same specialist at once, one under a long name and above its cap, and a retired one."""
    for key, grade, start, end in (("room12", "4", "09:00", "09:40"), ("room31", "5", "09:20", "10:00")):
        room = make_classroom(year, key, (grade,))
        teacher = make_teacher(room, f"Teacher{grade}")
        add(make_week(room), teacher, ("mon", start, end, "art"), ("thu", start, end, "art"))
    Classroom.objects.filter(key="room31").update(name=LONG, enrolment=27, cap=25, room="B 2")
    Classroom.objects.filter(pk=make_classroom(year, "gone").pk).update(retired=True)
    theo = make_coordinator(year.school, "Theo", "coordinator")
    return specialists.give_post(year, theo, PostToBe(year.activities.get(key="art")))[0]


@sizes
def test_axe_finds_nothing_on_the_pages_of_teams_classrooms_and_specialists(
    open_page: OpenPage, filled: SpecialistPost, ada: Member, size: dict[str, Any]
) -> None:
    year, long = filled.year_id, Classroom.objects.get(name=LONG)
    teams = reverse("members:teams", args=[year])
    week = reverse("scheduling:specialist-week", args=[year, filled.member_id]) + f"?on={FIRST_DAY}"
    paths = [
        teams,
        week,
        reverse("members:team-change", args=[long.team_id]),
        reverse("scheduling:classroom-add", args=[long.team_id]),
        *(reverse(f"scheduling:classroom-{verb}", args=[long.pk]) for verb in ("change", "remove")),
        *(reverse(f"scheduling:{name}", args=[year]) for name in ("specialists", "specialist-give")),
        *(reverse(f"scheduling:specialist-{verb}", args=[filled.pk]) for verb in ("change", "end")),
    ]
    page = open_page("/", ada, **size)
    base = page.url.rstrip("/")
    found = {}
    for path in paths:
        page.goto(f"{base}{path}")
        for put_away in page.locator("main details:not([open]) > summary").all():
            put_away.click()
        found[path] = faults(page) + too_wide(page)
        if path == teams:
            expect(page.get_by_text("2 above the cap")).to_be_visible()
            expect(page.get_by_role("button", name="Bring back Gone")).to_be_visible()
        if path == week:
            expect(page.get_by_text("Classes at once, 2 times")).to_be_visible()
            expect(page.get_by_role("link", name=LONG)).to_have_count(2)
    assert {path: some for path, some in found.items() if some} == {}
