"""Excel workbooks: the values of their cells as texts, real times among them. Macros and links are left alone."""

import datetime as dt
import io
import zipfile
from collections.abc import Iterator
from typing import Any

from openpyxl import load_workbook

from scheduling.spreadsheets.sheet import MOST_COLUMNS, MOST_ROWS, NotASpreadsheet, Place, Sheet, clean
from scheduling.spreadsheets.workbook_parts import BROKEN, Looked, check_parts, looked_over, sheet_parts, whole
from teamroom.common.clock import written_clock
from teamroom.common.sheet_text import as_meant

MOST_SHEETS = 20
OTHER = "Open it in your spreadsheet program and save it as an Excel workbook (.xlsx) or as CSV."
MACROS = "The workbook has macros. They were not read and not run, and nothing of them is kept."
DAY = 24 * 60
A_SECOND = 1 / 60
DAY_ZERO = dt.datetime(1900, 1, 1)  # noqa: DTZ001 - as a workbook counts: days of no zone


def read_xlsx(data: bytes) -> tuple[tuple[Sheet, ...], tuple[str, ...]]:
    """The sheets of a workbook that hold something, and what was left out. Raises NotASpreadsheet."""
    with whole():
        book = zipfile.ZipFile(io.BytesIO(data))
    with book:
        names = set(book.namelist())
        if "xl/workbook.xml" not in names:
            raise NotASpreadsheet(_other_zip(book, names))
        check_parts(book)
        looks, said = _looks(book)
    if any(name.lower().endswith("vbaproject.bin") for name in names):
        said.append(MACROS)
    return _sheets(data, looks), tuple(said)


def _other_zip(book: zipfile.ZipFile, names: set[str]) -> str:
    if "mimetype" in names and book.getinfo("mimetype").file_size < 200:
        return f"This is an OpenDocument file, not an Excel workbook. {OTHER}"
    if "word/document.xml" in names:
        return "This is a text document. Copy its table into a spreadsheet and save that."
    if "xl/workbook.bin" in names:
        return f"This is a binary workbook (.xlsb), which is not read. {OTHER}"
    return f"This is a zip file and no Excel workbook. {OTHER}"


def _looks(book: zipfile.ZipFile) -> tuple[dict[str, Looked], list[str]]:
    """What a look over each visible sheet tells, and a sentence for each that is too big."""
    found: dict[str, Looked] = {}
    said: list[str] = []
    parts = [part for part in sheet_parts(book) if not part.hidden and part.path in book.namelist()]
    for part in parts[:MOST_SHEETS]:
        look = looked_over(book, part.path)
        if look is None:
            said.append(
                f"The sheet “{part.name}” is used beyond {MOST_ROWS:,} rows or {MOST_COLUMNS} columns, so it holds "
                "more than a week. Copy the week into a workbook of its own and send that."
            )
        elif look.last_row:
            found[part.name] = look
    if not found:
        raise NotASpreadsheet(said[0] if said else "No sheet of the workbook that is shown holds anything.")
    return found, said


def _sheets(data: bytes, looks: dict[str, Looked]) -> tuple[Sheet, ...]:
    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
        return tuple(
            Sheet(name, dict(_cells(book[name], look)), tuple(look.spans), tuple(look.unread))
            for name, look in looks.items()
        )
    except NotASpreadsheet:
        raise
    except Exception as fault:  # openpyxl raises anything at all over what it does not expect
        raise NotASpreadsheet(BROKEN) from fault


def _cells(sheet: Any, look: Looked) -> Iterator[tuple[Place, str]]:
    # What a sheet says of its own size is often wrong; what was looked over is not.
    sheet.reset_dimensions()
    for row in sheet.iter_rows(max_row=look.last_row, max_col=look.last_column):
        for cell in row:
            if cell.value is None:
                continue
            # A CSV file that was opened and saved as a workbook keeps the mark before what would be a formula.
            text = as_meant(clean(_text(cell.value, cell.number_format or "")))
            if text:
                yield (cell.row, cell.column), text


def _text(value: object, shown_as: str) -> str:
    """A value as somebody would type it; a time of day with am or pm only where it is shown so."""
    if isinstance(value, dt.datetime):
        if value.time() == dt.time() and value > DAY_ZERO:
            return f"{value:%Y-%m-%d}"
        days = 0 if value > DAY_ZERO else (value - DAY_ZERO).days + 1
        return _clock(days * DAY + _minutes(value.time()), shown_as)
    if isinstance(value, dt.time):
        return _clock(_minutes(value), shown_as)
    if isinstance(value, dt.timedelta):
        return _clock(value.total_seconds() / 60, shown_as)
    if isinstance(value, dt.date):
        return f"{value:%Y-%m-%d}"
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, float):
        # A fraction of a day is a time that was given no form.
        return _clock(value * DAY, shown_as) if 0 < value < 1 else f"{value:.10g}"
    return str(value)


def _minutes(time: dt.time) -> float:
    return time.hour * 60 + time.minute + (time.second + time.microsecond / 1_000_000) / 60


def _clock(minutes: float, shown_as: str) -> str:
    whole = round(minutes)
    if abs(minutes - whole) > A_SECOND or not 0 <= whole <= DAY:
        seconds = round(minutes * 60)
        return f"{seconds // 3600}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"
    if "am/pm" not in shown_as.lower() or whole == DAY:
        return written_clock(whole)
    return f"{written_clock((whole // 60 - 1) % 12 * 60 + 60 + whole % 60)} {'am' if whole < DAY / 2 else 'pm'}"
