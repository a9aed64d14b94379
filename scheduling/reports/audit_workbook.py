"""The audit as a workbook: a sheet of readings and a sheet of what they are made of."""

from collections.abc import Iterable, Iterator, Sequence
from typing import BinaryIO

from openpyxl import Workbook
from openpyxl.cell import Cell as SheetCell
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet._write_only import WriteOnlyWorksheet

from scheduling.minutes.trace import Addend
from scheduling.reports.audit import AuditLine, Question, number
from scheduling.reports.audit_text import Cell, cells, headings
from teamroom.common.clock import written_clock

MOST_ROWS = 1_048_576
TRACE_HEADINGS = (
    "Classroom",
    "Grade",
    "Rule",
    "Part",
    "Window from",
    "Window to",
    "Source",
    "Activity",
    "Minutes",
    "Days",
    "Each day",
    "First date",
    "Cycle day",
    "Day kind",
    "Start",
    "End",
    "Name",
    "Why",
)
WIDEST = {"Rule": 28, "Why": 48, "Name": 24}


class TooManyRows(Exception):
    """More rows than a sheet holds."""


class Sheet:
    """A sheet with a frozen row of headings, filled row by row."""

    def __init__(self, book: Workbook, title: str, titles: Sequence[str]) -> None:
        self.sheet: WriteOnlyWorksheet = book.create_sheet(title)
        self.sheet.freeze_panes = "A2"
        for n, heading in enumerate(titles, start=1):
            self.sheet.column_dimensions[get_column_letter(n)].width = WIDEST.get(heading, 13)
        self.rows = 0
        self.add([_heading(self.sheet, title) for title in titles])

    def add(self, row: Sequence[Cell]) -> None:
        self.rows += 1
        if self.rows > MOST_ROWS:
            raise TooManyRows
        self.sheet.append([_kept_text(self.sheet, cell) if isinstance(cell, str) else cell for cell in row])


def write_workbook(lines: Iterable[AuditLine], question: Question, out: BinaryIO) -> None:
    """Write the workbook. Raises TooManyRows if it holds more than a sheet can."""
    book = Workbook(write_only=True)
    readings = Sheet(book, "Readings", headings(question))
    traces = Sheet(book, "Traces", TRACE_HEADINGS)
    for line in lines:
        readings.add(cells(line, question))
        for row in _trace_rows(line):
            traces.add(row)
    book.save(out)


def _heading(sheet: WriteOnlyWorksheet, title: str) -> SheetCell:
    cell = WriteOnlyCell(sheet, title)
    cell.font = Font(bold=True)
    return cell


def _kept_text(sheet: WriteOnlyWorksheet, text: str) -> SheetCell | str:
    """Text that stays text, also where it begins like a formula or an error, without letters a sheet cannot hold."""
    if text.isprintable() and not text.startswith(("=", "#")):
        return text
    cell = WriteOnlyCell(sheet, ILLEGAL_CHARACTERS_RE.sub("", text))
    cell.data_type = "s"
    return cell


def _trace_rows(line: AuditLine) -> Iterator[tuple[Cell, ...]]:
    reading = line.reading
    head = (line.classroom, reading.grade, reading.rule, reading.part, reading.first, reading.last)
    for addend in line.trace():
        yield (*head, *_addend_cells(addend))


def _addend_cells(addend: Addend) -> tuple[Cell, ...]:
    return (
        addend.source,
        addend.activity,
        number(addend.minutes),
        addend.days,
        number(addend.each),
        addend.first,
        addend.cycle_day,
        addend.kind,
        None if addend.start is None else written_clock(addend.start),
        None if addend.end is None else written_clock(addend.end),
        addend.label,
        addend.why,
    )
