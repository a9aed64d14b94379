"""A week as a file that spreadsheets open, in the shapes that `guessing` reads back to the same blocks."""

import csv
import datetime as dt
import io
from collections.abc import Iterable, Mapping, Sequence

from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from scheduling.spreadsheets.days import Days
from scheduling.spreadsheets.found import Entry
from scheduling.spreadsheets.grid_shape import DITTO, clock_label
from scheduling.spreadsheets.sheet import Span
from scheduling.spreadsheets.times import DAY, clock_typed
from teamroom.common.sheet_text import harmless

SHAPES = ("list", "grid")
KINDS: Mapping[str, str] = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
HEADINGS = ("Day", "Start", "End", "Activity", "Reason")
CORNER = "Time"
CORNER_MARKED = f"Time ({DITTO} goes on from above)"
WIDE, MIDDLE, NARROW = 44, 20, 12
Row = list[str | dt.time]


def written(entries: Iterable[Entry], days: Days, shape: str, kind: str) -> bytes:
    """A week's blocks, which do not overlap, as one of SHAPES in a file of one of KINDS."""
    told = sorted(entries, key=lambda entry: (list(days.names).index(entry.day), entry.start))
    if shape == "list":
        return _file(_list_rows(told, days, kind), [], shape, kind)
    return _file(*_grid_rows(told, days, kind), shape, kind)


def _file(rows: Sequence[Row], spans: Sequence[Span], shape: str, kind: str) -> bytes:
    return _csv(rows) if kind == "csv" else _xlsx(rows, spans, shape)


def _list_rows(entries: Sequence[Entry], days: Days, kind: str) -> list[Row]:
    rows: list[Row] = [list(HEADINGS)]
    for entry in entries:
        times = [_time(minutes, kind) for minutes in (entry.start, entry.end)]
        rows.append([days.names[entry.day], *times, entry.activity, entry.why])
    return rows


def _time(minutes: int, kind: str) -> str | dt.time:
    """A time as a workbook reckons with it; as text where there is none such."""
    if kind == "csv" or minutes == DAY:
        return clock_typed(minutes)
    return dt.time(*divmod(minutes, 60))


def _grid_rows(entries: Sequence[Entry], days: Days, kind: str) -> tuple[list[Row], list[Span]]:
    """A row for each stretch between two times at which anything begins or ends."""
    shown = [key for key in days.names if key in days.usual or any(entry.day == key for entry in entries)]
    edges = sorted({minutes for entry in entries for minutes in (entry.start, entry.end)})
    rows: list[Row] = [
        [clock_label(start, end), *[""] * len(shown)] for start, end in zip(edges, edges[1:], strict=False)
    ]
    spans: list[Span] = []
    for entry in entries:
        column = shown.index(entry.day) + 1
        first, last = edges.index(entry.start), edges.index(entry.end) - 1
        rows[first][column] = _cell(entry)
        if last > first:
            spans.append(Span(first + 2, column + 1, last + 2, column + 1))
        for row in range(first + 1, last + 1) if kind == "csv" else ():
            rows[row][column] = DITTO
    alike = _alike(entries)
    corner = CORNER_MARKED if alike or (spans and kind == "csv") else CORNER
    return [[corner, *(days.names[key] for key in shown)], *rows], spans


def _cell(entry: Entry) -> str:
    return f"{entry.activity}\n{entry.why}" if entry.why else entry.activity


def _alike(entries: Sequence[Entry]) -> bool:
    """Whether two blocks with the same words follow each other, which must not come back as one."""
    return any(
        (one.day, one.end, _cell(one)) == (other.day, other.start, _cell(other))
        for one, other in zip(entries, entries[1:], strict=False)
    )


def _csv(rows: Iterable[Row]) -> bytes:
    """With the mark by which spreadsheets know UTF-8; no cell begins as a formula does."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerows([harmless(str(cell)) for cell in row] for row in rows)
    return f"\ufeff{out.getvalue()}".encode()


def _xlsx(rows: Sequence[Row], spans: Iterable[Span], shape: str) -> bytes:
    book = Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)  # noqa: S101 - for types
    sheet.title = "Week"
    for number, row in enumerate(rows, start=1):
        for column, told in enumerate(row, start=1):
            _put(sheet, number, column, told)
    for span in spans:
        sheet.merge_cells(start_row=span.top, start_column=span.left, end_row=span.bottom, end_column=span.right)
    sheet.freeze_panes = "A2" if shape == "list" else "B2"
    for column in range(1, len(rows[0]) + 1):
        wide = {4: MIDDLE, 5: WIDE}.get(column, NARROW) if shape == "list" else MIDDLE
        sheet.column_dimensions[get_column_letter(column)].width = wide
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _put(sheet: Worksheet, row: int, column: int, told: str | dt.time) -> None:
    """A cell whose text stays text, however it begins and whoever types in it later."""
    if told == "":
        return
    cell = sheet.cell(row, column)
    if isinstance(told, dt.time):
        cell.value = told
        cell.number_format = "h:mm AM/PM"
    else:
        text = ILLEGAL_CHARACTERS_RE.sub("", told)
        # What begins as the mark of a CSV file does is given one more, as the reader takes one away.
        cell.value = harmless(text) if text.startswith("'") else text
        cell.data_type = "s"
        cell.quotePrefix = harmless(text) != text
    cell.alignment = Alignment(vertical="top", wrap_text=True)
    if row == 1:
        cell.font = Font(bold=True)
