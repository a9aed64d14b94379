"""A sheet of cells as it was read, whatever file it came in."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

MOST_ROWS = 2000
MOST_COLUMNS = 100
LONGEST_CELL = 10_000
"""Letters of a cell that are kept: as many as a reason may have."""
Place = tuple[int, int]
"""Row and column of a cell, both from 1."""


class NotASpreadsheet(Exception):
    """A file that is not read, with a sentence that says why and what to do instead."""


class Span(NamedTuple):
    """Cells that are merged into one, all four inside it."""

    top: int
    left: int
    bottom: int
    right: int


@dataclass(frozen=True)
class Sheet:
    """Texts by their place; empty cells have none. `spans` are merged cells, whose text stands in their first.
    `unread` are formulas that came without the value they gave."""

    name: str
    cells: Mapping[Place, str]
    spans: tuple[Span, ...] = ()
    unread: tuple[Place, ...] = ()

    @cached_property
    def rows(self) -> list[int]:
        """The rows that have a text, in order."""
        return sorted({row for row, _ in self.cells})

    @cached_property
    def columns(self) -> list[int]:
        return sorted({column for _, column in self.cells})

    @cached_property
    def _spans(self) -> Mapping[Place, Span]:
        return {
            (row, column): span
            for span in self.spans
            for row in range(span.top, span.bottom + 1)
            for column in range(span.left, span.right + 1)
        }

    def span_at(self, row: int, column: int) -> Span:
        """The merged cells that a cell is of; alone, the cell itself."""
        return self._spans.get((row, column)) or Span(row, column, row, column)

    def own(self, row: int, column: int) -> str:
        """The text that stands in this very cell."""
        return self.cells.get((row, column), "")

    def text(self, row: int, column: int) -> str:
        """The text of a cell, or of the merged cells that it is of."""
        span = self.span_at(row, column)
        return self.own(span.top, span.left)


def letters(column: int) -> str:
    """1 as `A`, 28 as `AB`."""
    told = ""
    while column:
        column, rest = divmod(column - 1, 26)
        told = chr(ord("A") + rest) + told
    return told


def column_of(told: str) -> int:
    """`A` as 1, `AB` as 28; 0 for what is no column."""
    column = 0
    for letter in told.strip().upper()[:4]:
        if not "A" <= letter <= "Z":
            return 0
        column = column * 26 + ord(letter) - ord("A") + 1
    return column


def address(row: int, column: int) -> str:
    """`B4`, as every spreadsheet names a cell."""
    return f"{letters(column)}{row}"


def span_said(span: Span) -> str:
    """`B4` or `B4:B6`."""
    first, last = address(span.top, span.left), address(span.bottom, span.right)
    return first if first == last else f"{first}:{last}"


def clean(text: str) -> str:
    """A cell's text: one kind of line end, no letters that are not printed, nothing around it."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    kept = ("".join(each if each.isprintable() else " " for each in line.replace("\t", " ")).rstrip() for line in lines)
    return "\n".join(kept).strip()[:LONGEST_CELL]


def plain_sheet(sheet: Sheet) -> dict[str, Any]:
    """A sheet as JSON has it, to be kept until somebody says yes."""
    return {
        "name": sheet.name,
        "cells": [[row, column, text] for (row, column), text in sheet.cells.items()],
        "spans": [list(span) for span in sheet.spans],
        "unread": [list(place) for place in sheet.unread],
    }


def sheet_from(plain: Mapping[str, Any]) -> Sheet:
    """The sheet that `plain_sheet` gave."""
    return Sheet(
        plain["name"],
        {(row, column): text for row, column, text in plain["cells"]},
        tuple(Span(*span) for span in plain["spans"]),
        _places(plain["unread"]),
    )


def _places(plain: Iterable[Iterable[int]]) -> tuple[Place, ...]:
    return tuple((row, column) for row, column in plain)
