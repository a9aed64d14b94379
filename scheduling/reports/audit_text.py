"""The audit as text: JSON for programs, a table for a terminal, CSV for spreadsheets."""

import csv
import json
from collections.abc import Iterable, Iterator
from typing import Any, Protocol

from scheduling.reports.audit import AuditLine, Question, as_json, number
from teamroom.common.sheet_text import harmless

HEADINGS = ("Classroom", "Grade", "Rule", "Part", "From", "To", "Required", "Planned", "Margin", "Verdict", "So far")
SHORT_WINDOWS = "Short windows"
GAP = "  "
Cell = Any


class Out(Protocol):
    """Whatever takes text piece by piece."""

    def write(self, text: str, /) -> object: ...


def headings(question: Question) -> tuple[str, ...]:
    return HEADINGS if question.every_window else (*HEADINGS, SHORT_WINDOWS)


def cells(line: AuditLine, question: Question) -> tuple[Cell, ...]:
    """A line's values under the headings; None where it has none."""
    reading = line.reading
    found = (
        line.classroom,
        reading.grade,
        reading.rule,
        reading.part,
        reading.first,
        reading.last,
        number(reading.required),
        number(reading.planned),
        number(reading.margin),
        reading.status,
        number(reading.so_far),
    )
    return found if question.every_window else (*found, reading.short_windows)


def write_json(lines: Iterable[AuditLine], question: Question, out: Out) -> None:
    """`{"as_of", "readings"}`, a reading a line, written as they come."""
    out.write(f'{{"as_of": "{question.as_of}", "readings": [')
    for n, line in enumerate(lines):
        out.write(",\n" if n else "\n")
        out.write(json.dumps(as_json(line, every_window=question.every_window), ensure_ascii=False))
    out.write("\n]}\n")


def write_csv(lines: Iterable[AuditLine], question: Question, out: Out) -> None:
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(headings(question))
    for line in lines:
        writer.writerow(plain_text(cell) for cell in cells(line, question))


def plain_text(cell: Cell) -> Cell:
    """A cell in which text stays text: an apostrophe before what would be a formula."""
    return harmless(cell) if isinstance(cell, str) else cell


def write_table(lines: Iterable[AuditLine], question: Question, out: Out) -> None:
    """Columns as wide as they must be, numbers to the right, a line for each reading."""
    titles = headings(question)
    rows = [[_said(cell) for cell in cells(line, question)] for line in lines]
    if not rows:
        out.write("No rule asks anything of any classroom here.\n")
        return
    widths = [max(len(title), *(len(row[n]) for row in rows)) for n, title in enumerate(titles)]
    right = [title in ("Part", "Required", "Planned", "Margin", "So far", SHORT_WINDOWS) for title in titles]
    for row in (titles, ["-" * width for width in widths], *rows):
        out.write(GAP.join(_aligned(row, widths, right)).rstrip() + "\n")


def _aligned(row: Iterable[str], widths: list[int], right: list[bool]) -> Iterator[str]:
    for text, width, to_right in zip(row, widths, right, strict=True):
        yield text.rjust(width) if to_right else text.ljust(width)


def _said(cell: Cell) -> str:
    """A cell for a terminal, where a line break or escape in a key may not spoil the table."""
    text = "" if cell is None else str(cell)
    return text if text.isprintable() else "".join(letter if letter.isprintable() else " " for letter in text)
