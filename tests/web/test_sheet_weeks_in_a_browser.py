"""A spreadsheet of a spreadsheet program sent, looked at and made a draft in a browser; and a week taken away."""

from pathlib import Path
from typing import Any

from django.urls import reverse
from openpyxl import load_workbook
from playwright.sync_api import Page, expect

from scheduling.models import Block, Week
from tests import factories as make
from tests.web.conftest import OpenPage, World
from tests.web.looks import faults, fits, sizes

FILES = Path(__file__).parents[1] / "spreadsheets" / "files"
BAD = b"Day,Time,Class\nMon,8:15-9:xx,Math\nMon,9:00-10:00,Art\nMon,9:30-10:00,PE\nTue,8:15-9:00,Homeroom\n"


def send(page: Page, file: Path | dict[str, Any]) -> None:
    page.get_by_label("Spreadsheet (.xlsx or .csv)").set_input_files(file)  # type: ignore[arg-type]  # as it takes files
    page.get_by_role("button", name="Read the spreadsheet").click()


def test_a_made_grid_becomes_a_draft_of_a_classroom_that_has_no_week(open_page: OpenPage, world: World) -> None:
    room = make.make_classroom(world.year, "room14")
    room.teachers.add(world.teacher)
    world.differs_from_scratch()  # so that the new room has its readings
    page = open_page(reverse("scheduling:week", args=[room.pk]), world.teacher)
    page.get_by_role("link", name="from a spreadsheet").click()
    send(page, FILES / "grid.xlsx")
    expect(page.get_by_role("heading", name="What the names mean")).to_be_visible()
    expect(page.get_by_text("The times run on past noon")).to_be_visible()
    expect(page.get_by_text("Cells merged across days are a block on each of them: B13:F13.")).to_be_visible()
    expect(page.get_by_label("What Lunch is")).to_have_value(str(world.year.activities.get(key="lunch").pk))
    page.get_by_label("What Morning meeting is").select_option("Leave it out")
    page.get_by_label("What Writing is").select_option("Reading")
    page.get_by_role("button", name="Look again with these choices").click()
    expect(page.locator(".left-out")).to_have_count(5)
    page.get_by_label("For the weeks from").fill("2026-10-05")
    page.get_by_role("button", name="Make it a draft").click()
    expect(page.locator("#said")).to_contain_text("This is your draft of the sheet")
    expect(page.locator(".notice")).to_contain_text("counts for nothing yet")
    draft = Week.objects.get(classroom=room)
    assert draft.draft and Block.objects.filter(column__week=draft).count() == 30
    assert not world.differs_from_scratch()


def test_a_week_is_taken_away_from_its_tools_and_read_in_again(
    open_page: OpenPage, world: World, tmp_path: Path
) -> None:
    page = open_page(world.url, world.teacher)
    page.get_by_role("link", name="Spreadsheet").click()
    with page.expect_download() as downloaded:
        page.get_by_role("link", name="grid for Excel (.xlsx)").click()
    taken = tmp_path / downloaded.value.suggested_filename
    downloaded.value.save_as(taken)
    sheet = load_workbook(taken).active
    assert sheet is not None and sheet["B2"].value == "Reading"
    page.get_by_role("link", name="Read a week from a spreadsheet").click()
    send(page, taken)
    page.get_by_role("button", name="Make it a draft").click()
    expect(page.locator(".notice")).to_contain_text("counts for nothing yet")
    blocks = Block.objects.filter(column__week__draft=True)
    assert sorted(blocks.values_list("column__day", "start", "end", "activity__key")) == sorted(
        Block.objects.filter(column__week=world.week).values_list("column__day", "start", "end", "activity__key")
    )


@sizes
def test_axe_finds_nothing_on_the_pages_of_spreadsheets(
    open_page: OpenPage, world: World, size: dict[str, Any]
) -> None:
    start = reverse("scheduling:week-from-sheet", args=[world.classroom.pk])
    page = open_page(start, world.teacher, **size)
    assert faults(page) == [] and fits(page)
    send(page, {"name": "letter.pdf", "mimeType": "application/pdf", "buffer": b"%PDF-1.7"})
    expect(page.locator("#id_file_error")).to_contain_text("This is a PDF")
    assert faults(page) == [] and fits(page)
    for file in (FILES / "grid.xlsx", {"name": "bad.csv", "mimeType": "text/csv", "buffer": BAD}):
        page.goto(page.url.split("/classrooms")[0] + start)
        send(page, file)
        expect(page.get_by_role("heading", name="How it is read")).to_be_visible()
        assert faults(page) == [] and fits(page)
    page = open_page(reverse("scheduling:week-as-sheet", args=[world.week.pk]), world.teacher, **size)
    assert faults(page) == [] and fits(page)
