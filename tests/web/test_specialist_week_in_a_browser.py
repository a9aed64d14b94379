"""A specialist's week in a browser: from the home page, by date, on a phone, without scripts, on one sheet of paper."""

import datetime as dt
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from scheduling.models import Block, Column
from scheduling.services import specialists
from scheduling.services.specialists import PostToBe
from teamroom.members.models import Member
from tests.factories import FIRST_DAY, make_classroom, make_member, make_teacher, make_week, make_year
from tests.web.conftest import OpenPage
from tests.web.looks import PHONE, faults
from tests.web.test_accounts_in_a_browser import too_wide

LATER = FIRST_DAY + dt.timedelta(28)
DASH = "\N{EN DASH}"


@pytest.fixture
def theo(transactional_db: None) -> Member:
    """Teaches art to eight classes each day, one after the other, but on Mondays the first two at once; from
    the fifth week on the first class comes at 2:00."""
    year = make_year()
    kind, art = year.day_kinds.get(key="regular"), year.activities.get(key="art")
    for number in range(8):
        room = make_classroom(year, f"room{number}")
        make_teacher(room, f"Teacher{number}")
        for starts in (FIRST_DAY, LATER) if number == 0 else (FIRST_DAY,):
            week = make_week(room, starts)
            for day in ("mon", "tue", "wed", "thu", "fri"):
                start = 480 + 45 * (0 if number == 1 and day == "mon" else number)
                start = 840 if starts == LATER else start
                column = Column.objects.create(week=week, day=day, kind=kind)
                Block.objects.create(column=column, start=start, end=start + 40, activity=art)
    theo = make_member("Theo")
    specialists.give_post(year, theo, PostToBe(art))
    return theo


def own_url(theo: Member, on: dt.date = FIRST_DAY) -> str:
    year = theo.specialist_posts.get().year_id
    return reverse("scheduling:specialist-week", args=[year, theo.pk]) + f"?on={on}"


def test_a_specialist_finds_their_week_and_asks_for_another_date(open_page: OpenPage, theo: Member) -> None:
    page = open_page("/", theo)
    page.get_by_role("link", name="Your week across classrooms").press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Your week")
    page.get_by_label("As of").fill(str(FIRST_DAY))
    page.get_by_label("As of").press("Enter")
    monday = page.get_by_role("region", name="Monday")
    expect(page.locator(".own-clashes")).to_contain_text(f"Monday, 8:00{DASH}8:40 (40 min): Room0 and Room1.")
    expect(page.locator(".own-clashes")).to_contain_text("talk to Teacher0 and Teacher1")
    expect(monday.get_by_text("at once")).to_have_count(2)
    page.get_by_label("As of").fill(str(LATER))
    page.get_by_role("button", name="Show").press("Enter")
    expect(page.get_by_text("No two classes at once")).to_be_visible()
    expect(monday.locator("li", has_text="Room0")).to_contain_text(f"2:00{DASH}2:40")
    # As a guest of the team they may go on to the class's own week.
    monday.get_by_role("link", name="Room0").press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Room0")


def test_a_phone_has_the_days_one_below_the_other_without_scripts_too(open_page: OpenPage, theo: Member) -> None:
    page = open_page(own_url(theo), theo, **{**PHONE, "java_script_enabled": False})
    boxes = [page.locator(f"#day-{day}-regular").bounding_box() for day in ("mon", "tue", "fri")]
    tops = [box["y"] for box in boxes if box]
    assert tops == sorted(tops) and len(set(tops)) == 3
    expect(page.get_by_role("button", name="Show")).to_be_visible()


def test_a_phones_page_has_no_fault_and_fits(open_page: OpenPage, theo: Member) -> None:
    page = open_page(own_url(theo), theo, **PHONE)
    assert faults(page) + too_wide(page) == []


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_a_week_of_eight_classes_a_day_is_one_sheet_of_paper(open_page: OpenPage, theo: Member, paper: str) -> None:
    page = open_page(own_url(theo), theo)
    page.emulate_media(media="print")
    expect(page.get_by_label("As of")).to_be_hidden()
    expect(page.locator(".own-clashes")).to_be_visible()
    printed: bytes = page.pdf(format=paper, landscape=True)
    assert printed.count(b"/Type /Page\n") == 1
    # The sheet lies on its side by itself.
    by_itself: Any = page.pdf(prefer_css_page_size=True)
    assert by_itself.count(b"/Type /Page\n") == 1
