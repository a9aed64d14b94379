"""Files as they come: what is read, what is guessed, and what is refused with a sentence."""

import datetime as dt
import io
import time
import zipfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook

from scheduling.spreadsheets.guessing import understood
from scheduling.spreadsheets.reading import LARGEST_FILE, read_file
from scheduling.spreadsheets.sheet import NotASpreadsheet, Span, plain_sheet, sheet_from
from scheduling.spreadsheets.workbook_parts import MOST_BESIDE, MOST_CELLS, MOST_UNPACKED
from tests.spreadsheets.sheets import WEEK, blocks

FILES = Path(__file__).parent / "files"
LIST = "Day,Start,End,Activity\nMonday,8:15,9:00,Café\n"
MONDAY = "mon 08:15-09:00 Café"


def found(data: bytes) -> list[str]:
    return blocks(understood(read_file(data).sheets[0], WEEK, {}))


def refused(data: bytes) -> str:
    with pytest.raises(NotASpreadsheet) as fault:
        read_file(data)
    return str(fault.value)


def book(*rows: tuple[str, ...]) -> bytes:
    made = Workbook()
    sheet = made.active
    assert sheet is not None
    for row in rows:
        sheet.append(row)
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def with_parts(data: bytes, told: dict[str, bytes]) -> bytes:
    """A workbook with some of its parts replaced or added."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            if name not in told:
                new.writestr(name, old.read(name))
        for name, content in told.items():
            new.writestr(name, content)
    return out.getvalue()


# Made with a spreadsheet program


def test_a_made_grid_is_read_to_its_merged_blocks() -> None:
    told = found((FILES / "grid.xlsx").read_bytes())
    assert len(told) == 35
    assert [one for one in told if one.startswith("tue")] == [
        "tue 08:15-08:30 Morning meeting",
        "tue 08:30-10:00 Reading",
        "tue 10:00-10:15 Recess",
        "tue 10:15-12:00 Math",
        "tue 12:00-12:45 Lunch",
        "tue 12:45-13:05 Art",
        "tue 13:05-14:30 Writing",
    ]


def test_a_made_list_is_read_with_the_values_of_its_formulas() -> None:
    assert found((FILES / "list.xlsx").read_bytes()) == [
        "mon 08:15-09:00 Reading",
        "mon 09:00-09:50 Math",
        "mon 13:05-13:45 PE",
        "tue 08:15-09:00 Reading",
        "tue 09:00-09:45 Science",
        "wed 08:15-09:15 Math",
        "thu 08:15-09:15 Math",
    ]


def test_a_made_csv_of_another_encoding_is_read_and_the_guess_is_said() -> None:
    data = (FILES / "spans.csv").read_bytes()
    assert found(data) == ["mon 08:15-09:00 Café reading", "tue 09:00-10:00 Math", "wed 12:45-13:30 Math"]
    assert read_file(data).said == (
        "The file is no UTF-8, so its letters are taken as Windows-1252: check these: é",
        "Cells are taken to be parted by semicolons.",
    )


def test_files_of_other_programs_are_refused_with_what_to_do() -> None:
    assert "older kind (.xls)" in refused((FILES / "list.xls").read_bytes())
    assert "OpenDocument" in refused((FILES / "list.ods").read_bytes())


# CSV


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_csv_is_read_in_each_encoding(encoding: str) -> None:
    assert found(LIST.encode(encoding)) == [MONDAY]
    assert any("Windows-1252" in said for said in read_file(LIST.encode(encoding)).said) == (encoding == "cp1252")


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_what_parts_the_cells_is_guessed_and_said(delimiter: str) -> None:
    read = read_file(LIST.replace(",", delimiter).encode())
    assert blocks(understood(read.sheets[0], WEEK, {})) == [MONDAY]
    assert len(read.said) == 1 and "parted by" in read.said[0]


def test_commas_inside_cells_do_not_mislead() -> None:
    typed = 'Day;Time;Class\nMon;8:15-9:00;"Math, fractions, and more"\nTue;8:15-9:00;"Art, clay, and more"\n'
    assert found(typed.encode())[0] == "mon 08:15-09:00 Math, fractions, and more"


@pytest.mark.parametrize("first", ["sep=;\n", "sep=;\r\n"])
def test_a_first_line_may_say_what_parts_the_cells(first: str) -> None:
    assert found(f"{first}{LIST.replace(',', ';')}".encode()) == [MONDAY]


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "The file is empty"),
        (b" \n\n", "The file is empty"),
        (b",,,\n,,\n", "The file is empty"),
        (b"%PDF-1.7 ...", "This is a PDF"),
        (b"\x89PNG\r\n\x1a\n", "This is a picture"),
        (b"<html><table>", "a web page or XML"),
        (b"{\\rtf1", "a text document"),
        (b"\x00\xff\x01\x02", "bytes that are no text"),
        (b"a,b\x81\n", "bytes that are no text"),
        (b"Day,Time\x00\n", "bytes that are no text"),
        (b"\xff\xfe\x00", "bytes that are no text"),
        (b"PK\x03\x04 and no more", "damaged or not whole"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"), "locked with a password"),
    ],
)
def test_what_is_no_spreadsheet_is_refused_with_a_sentence(data: bytes, told: str) -> None:
    assert told in refused(data)


def test_a_csv_of_100_000_rows_is_refused_at_once() -> None:
    data = LIST.encode() + b"Monday,8:15,9:00\n" * 100_000
    begun = time.perf_counter()
    assert "more than 2,000 rows" in refused(data)
    assert time.perf_counter() - begun < 2
    assert "larger than 2 MiB" in refused(b"x" * (LARGEST_FILE + 1))


def test_a_csv_of_too_many_columns_is_refused() -> None:
    assert "Row 1 has more than 100 columns" in refused(("x," * 101).encode())
    assert found(LIST.replace("\n", "," * 200 + "\n").encode()) == [MONDAY]


# Workbooks


def test_real_times_dates_and_fractions_are_read_as_they_are_shown() -> None:
    made = Workbook()
    sheet = made.active
    assert sheet is not None
    cells: list[tuple[Any, str, str]] = [
        (dt.time(8, 15), "h:mm", "08:15"),
        (dt.time(13, 5), "h:mm", "13:05"),
        (dt.time(13, 5), "h:mm AM/PM", "01:05 pm"),
        (dt.time(0, 5), "h:mm AM/PM", "12:05 am"),
        (dt.datetime(2026, 9, 7, 8, 15), "yyyy-mm-dd h:mm", "08:15"),  # noqa: DTZ001 - a workbook's have no zone
        (dt.datetime(2026, 9, 7), "yyyy-mm-dd", "2026-09-07"),  # noqa: DTZ001 - as above
        (dt.timedelta(hours=8, minutes=15), "[h]:mm", "08:15"),
        (0.34375, "General", "08:15"),
        (1, "[h]:mm", "24:00"),
        (8.15, "General", "8.15"),
        (815, "General", "815"),
        (dt.time(8, 15, 30), "h:mm:ss", "8:15:30"),
        (True, "General", "TRUE"),
    ]
    for row, (value, shown_as, _) in enumerate(cells, start=1):
        cell = sheet.cell(row, 1)
        cell.value = value
        cell.number_format = shown_as
    out = io.BytesIO()
    made.save(out)
    read = read_file(out.getvalue()).sheets[0]
    assert [read.own(row, 1) for row in range(1, len(cells) + 1)] == [told for *_, told in cells]


def test_a_formula_without_its_value_is_told_by_its_address() -> None:
    data = book(("Day", "Start", "End", "Activity"), ("Mon", "8:15", "=B2+1", "Math"), ("Tue", "8:15", "9:00", "Art"))
    told = understood(read_file(data).sheets[0], WEEK, {})
    assert told.faults[0].at == "C2"
    assert told.faults[0].said.startswith("This is a formula without the value it gave.")
    assert blocks(told) == ["tue 08:15-09:00 Art"]


def test_the_mark_before_a_formula_is_taken_off_in_a_workbook_too() -> None:
    read = read_file(book(("'+1 Art", "'quoted'", "''=x"))).sheets[0]
    assert [read.own(1, column) for column in (1, 2, 3)] == ["+1 Art", "'quoted'", "'=x"]


def test_macros_are_left_alone_and_that_is_said() -> None:
    data = with_parts((FILES / "grid.xlsm").read_bytes(), {"xl/vbaProject.bin": b"\xcc" * 100})
    assert found(data) == found((FILES / "grid.xlsx").read_bytes())
    assert read_file(data).said == (
        "The workbook has macros. They were not read and not run, and nothing of them is kept.",
    )


def test_a_workbook_of_100_000_rows_is_refused_without_being_read_whole() -> None:
    made = Workbook(write_only=True)
    sheet = made.create_sheet("Everything")
    for _ in range(100_000):
        sheet.append(["Monday", "8:15"])
    out = io.BytesIO()
    made.save(out)
    begun = time.perf_counter()
    assert refused(out.getvalue()).startswith("The sheet “Everything” is used beyond 2,000 rows or 100 columns")
    assert time.perf_counter() - begun < 2


def test_a_sheet_that_is_too_big_is_left_out_beside_one_with_a_week() -> None:
    made = Workbook()
    sheet = made.active
    assert sheet is not None
    sheet.title = "Week"
    sheet.append(["Day", "Time", "Class"])
    sheet.append(["Mon", "8:15-9:00", "Art"])
    made.create_sheet("Far")["A3000"] = "x"
    made.create_sheet("Wide")["ZZ1"] = "x"
    made.create_sheet("Empty")
    made.create_sheet("Hidden")["A1"] = "x"
    made["Hidden"].sheet_state = "hidden"
    out = io.BytesIO()
    made.save(out)
    read = read_file(out.getvalue())
    assert [sheet.name for sheet in read.sheets] == ["Week"]
    assert [said.split("”")[0] for said in read.said] == ["The sheet “Far", "The sheet “Wide"]


def test_cells_that_only_have_a_form_and_merges_without_end_are_no_work() -> None:
    made = Workbook()
    sheet = made.active
    assert sheet is not None
    sheet.append(["Day", "Time", "Class"])
    sheet.append(["Mon", "8:15-9:00", "Art"])
    sheet["A5000"].number_format = "h:mm"
    out = io.BytesIO()
    made.save(out)
    with zipfile.ZipFile(io.BytesIO(out.getvalue())) as parts:
        xml = parts.read("xl/worksheets/sheet1.xml")
    merged = xml.replace(
        b"</sheetData>", b'</sheetData><mergeCells><mergeCell ref="A2:XFD1048576"/><mergeCell ref="D9"/></mergeCells>'
    )
    begun = time.perf_counter()
    read = read_file(with_parts(out.getvalue(), {"xl/worksheets/sheet1.xml": merged}))
    assert time.perf_counter() - begun < 2
    assert read.sheets[0].spans == (Span(2, 1, 2, 3),)


def test_a_sheet_of_nothing_but_forms_is_not_followed_to_its_end() -> None:
    row = b"<row>" + b"<c/>" * 4000 + b"</row>"
    xml = b"<worksheet><sheetData>" + row * (MOST_CELLS // 4000 + 1) + b"</sheetData></worksheet>"
    begun = time.perf_counter()
    assert "used beyond" in refused(with_parts(book(("x",)), {"xl/worksheets/sheet1.xml": xml}))
    assert time.perf_counter() - begun < 3


def test_what_unpacks_without_end_is_refused_by_its_declared_size() -> None:
    bomb = with_parts(book(("x",)), {"xl/media/image1.png": b"\0" * (MOST_UNPACKED + 1)})
    assert len(bomb) < LARGEST_FILE
    assert "unpacks to far more" in refused(bomb)
    words = with_parts(book(("x",)), {"xl/styles.xml": b"<x/>" * (MOST_BESIDE // 4 + 1)})
    assert "unpacks to far more" in refused(words)
    many = with_parts(book(("x",)), {f"xl/media/{n}.png": b"x" for n in range(600)})
    assert "unpacks to far more" in refused(many)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
@pytest.mark.parametrize("part", ["xl/sharedStrings.xml", "xl/workbook.xml", "xl/styles.xml", "docProps/core.xml"])
def test_entities_that_unfold_without_end_are_never_opened(part: str, encoding: str) -> None:
    lol = '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]><x>&b;</x>'
    told = lol.replace("?>", f' encoding="{encoding}"?>', 1).encode(encoding)
    assert "document type" in refused(with_parts((FILES / "list.xlsx").read_bytes(), {part: told}))


@pytest.mark.parametrize(
    "part", ["xl/workbook.xml", "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml", "xl/_rels/workbook.xml.rels"]
)
@pytest.mark.parametrize("content", [b"", b"<a>", b"\xff\xfe<", b"<a/>", b"x" * 5000])
def test_a_damaged_workbook_is_refused_and_no_fault_of_ours(part: str, content: bytes) -> None:
    assert refused(with_parts((FILES / "list.xlsx").read_bytes(), {part: content}))


def test_a_zip_of_something_else_is_refused() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        made.writestr("letter.txt", "hello")
    assert "a zip file and no Excel workbook" in refused(out.getvalue())
    with zipfile.ZipFile(out, "w") as made:
        made.writestr("word/document.xml", "<x/>")
    assert "a text document" in refused(out.getvalue())
    with zipfile.ZipFile(out, "w") as made:
        made.writestr("xl/workbook.bin", "x")
    assert "binary workbook (.xlsb)" in refused(out.getvalue())


@given(st.binary(max_size=300), st.sampled_from([b"", b"PK\x03\x04", b"Day,Start\n", b"\xff\xfe", b"\xef\xbb\xbf"]))
def test_any_bytes_are_read_or_refused(data: bytes, before: bytes) -> None:
    try:
        read = read_file(before + data)
    except NotASpreadsheet:
        return
    for sheet in read.sheets:
        understood(sheet, WEEK, {})


@given(st.integers(0, 4000), st.binary(min_size=1, max_size=8))
def test_a_workbook_with_bytes_changed_is_read_or_refused(at: int, changed: bytes) -> None:
    whole = (FILES / "list.xlsx").read_bytes()
    try:
        read_file(whole[:at] + changed + whole[at + len(changed) :])
    except NotASpreadsheet:
        return


def test_a_sheet_is_the_same_after_it_was_kept() -> None:
    for name in ("grid.xlsx", "list.xlsx", "spans.csv"):
        for sheet in read_file((FILES / name).read_bytes()).sheets:
            assert sheet_from(plain_sheet(sheet)) == sheet
