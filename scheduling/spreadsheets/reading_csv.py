"""CSV files: letters, what parts the cells, and rows up to a limit."""

import csv
import io
from collections import Counter

from scheduling.spreadsheets.sheet import MOST_COLUMNS, MOST_ROWS, NotASpreadsheet, Place, Sheet, clean
from teamroom.common.sheet_text import as_meant

PARTED_BY = {",": "commas", ";": "semicolons", "\t": "tabs"}
LOOKED_AT = 60
"""Rows by which what parts the cells is guessed."""
MARKS = (("utf-8-sig", b"\xef\xbb\xbf"), ("utf-16", b"\xff\xfe"), ("utf-16", b"\xfe\xff"))
NO_TEXT = (
    "This is no spreadsheet: it holds bytes that are no text. Save it as an Excel workbook (.xlsx) or as CSV in UTF-8."
)


def read_csv(data: bytes) -> tuple[tuple[Sheet, ...], tuple[str, ...]]:
    """The one sheet of a CSV file, and what was guessed. Raises NotASpreadsheet."""
    text, said = _text(data)
    delimiter, text = _delimiter(text)
    cells: dict[Place, str] = {}
    try:
        for row, fields in enumerate(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter), start=1):
            _take(cells, row, fields)
    except csv.Error as fault:
        raise NotASpreadsheet(
            "A cell does not end: a quotation mark opens in it and never closes. Save the file as CSV once more."
        ) from fault
    if not cells:
        raise NotASpreadsheet("The file is empty. Choose another.")
    parted = f"Cells are taken to be parted by {PARTED_BY[delimiter]}."
    return (Sheet("", cells),), tuple(filter(None, (said, parted)))


def _take(cells: dict[Place, str], row: int, fields: list[str]) -> None:
    for column, field in enumerate(fields, start=1):
        text = as_meant(clean(field))
        if not text:
            continue
        if row > MOST_ROWS:
            raise NotASpreadsheet(
                f"The file has more than {MOST_ROWS:,} rows, so it holds more than a week. "
                "Copy the rows of the week into a file of their own and send that."
            )
        if column > MOST_COLUMNS:
            raise NotASpreadsheet(
                f"Row {row} has more than {MOST_COLUMNS} columns, so this is no week. "
                "Copy the columns of the week into a file of their own and send that."
            )
        cells[row, column] = text


def _text(data: bytes) -> tuple[str, str]:
    """The letters, and a sentence where they were guessed."""
    known = next((name for name, mark in MARKS if data.startswith(mark)), None) or _without_mark(data)
    if known is not None:
        try:
            return _plain(data.decode(known)), ""
        except UnicodeDecodeError as fault:
            raise NotASpreadsheet(NO_TEXT) from fault
    try:
        return _plain(data.decode("utf-8")), ""
    except UnicodeDecodeError:
        pass
    try:
        text = _plain(data.decode("cp1252"))
    except UnicodeDecodeError as fault:
        raise NotASpreadsheet(NO_TEXT) from fault
    odd = "".join(dict.fromkeys(letter for letter in text if ord(letter) > 127))[:12]
    return text, f"The file is no UTF-8, so its letters are taken as Windows-1252: check these: {odd}"


def _without_mark(data: bytes) -> str | None:
    """UTF-16 that does not say so: every other byte of plain text is nought."""
    some = data[:400]
    for name, at in (("utf-16-le", 1), ("utf-16-be", 0)):
        if len(some) > 3 and some[at::2].count(0) > len(some) // 4 and 0 not in some[1 - at :: 2]:
            return name
    return None


def _plain(text: str) -> str:
    if any(letter < " " and letter not in "\t\r\n\x0b\x0c" for letter in text):
        raise NotASpreadsheet(NO_TEXT)
    return text


def _delimiter(text: str) -> tuple[str, str]:
    """What parts the cells, and the text without a first line that says it."""
    first, _, rest = text.partition("\n")
    if first.strip().lower() in {f"sep={each}" for each in PARTED_BY} or first.rstrip("\r").lower() == "sep=\t":
        return first.rstrip("\r")[4:5] or "\t", "\n" + rest
    return max(PARTED_BY, key=lambda each: _evenness(text, each)), text


def _evenness(text: str, delimiter: str) -> tuple[int, int]:
    """How many rows fall into one number of cells, more than one; and how many cells that makes."""
    counts: Counter[int] = Counter()
    try:
        for place, fields in enumerate(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)):
            if place >= LOOKED_AT:
                break
            if len(fields) > 1:
                counts[len(fields)] += 1
    except csv.Error:
        return 0, 0
    cells, rows = max(counts.items(), key=lambda one: one[1] * one[0], default=(0, 0))
    return rows, cells
