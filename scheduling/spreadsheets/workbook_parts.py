"""Looking over a workbook before it is opened: how big it says it is, and how far its sheets are used.

A workbook is a zip of XML. The program that opens it (openpyxl) does not guard against XML whose entities unfold
without end: such entities need a document type, which no workbook has (ECMA-376-2 forbids it), so a part that has one
is refused before anything else reads it. Sheets are looked over as a stream, which ends at the first cell too far.
"""

import posixpath
import zipfile
import zlib
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import IO
from xml.parsers import expat  # noqa: S407 - entities are refused below

from scheduling.spreadsheets.sheet import MOST_COLUMNS, MOST_ROWS, NotASpreadsheet, Place, Span, column_of

MOST_UNPACKED = 48 * 1024 * 1024
MOST_TEXTS = 12 * 1024 * 1024
MOST_BESIDE = 1024 * 1024
"""Bytes of XML that is neither a sheet nor the texts of sheets, such as styles: each becomes many objects."""
MOST_CELLS = 400_000
"""Cells of a sheet that only have a form, or stand in rows and columns that are not used."""
MOST_PARTS = 500
MOST_SPANS = 5000
A_PIECE = 64 * 1024
HEAD = 1024 * 1024
"""Bytes in which a part's first element begins."""
BROKEN = (
    "The workbook cannot be read: it is damaged or not whole. Open it in your spreadsheet program and save it anew."
)
BOMB = "The workbook unpacks to far more than a week needs. Copy the sheet with the week into a new workbook."


@contextmanager
def whole() -> Iterator[None]:
    """Whatever shows that a zip or its XML is damaged is told as that."""
    try:
        yield
    except (expat.ExpatError, zipfile.BadZipFile, zlib.error) as fault:
        raise NotASpreadsheet(BROKEN) from fault
    except (KeyError, OSError, EOFError, RuntimeError, ValueError) as fault:
        # What a damaged directory of a zip leads to: names that are no text, places outside the file.
        raise NotASpreadsheet(BROKEN) from fault


class _Root(Exception):
    """The first element, by its name."""


class _TooFar(Exception):
    """A cell beyond the limits."""


@dataclass
class Looked:
    """What a look over a sheet tells: how far it is used, merged cells, and formulas without a value."""

    last_row: int = 0
    last_column: int = 0
    spans: list[Span] = field(default_factory=list)
    unread: list[Place] = field(default_factory=list)


@dataclass(frozen=True)
class Part:
    """A sheet as the workbook names it, and where in the zip it stands."""

    name: str
    path: str
    hidden: bool


def check_parts(book: zipfile.ZipFile) -> None:
    """Raise NotASpreadsheet for what is too big by its own word, locked, or has a document type."""
    parts = book.infolist()
    if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNPACKED:
        raise NotASpreadsheet(BOMB)
    if any(part.flag_bits & 1 for part in parts):
        raise NotASpreadsheet("The file is locked with a password. Save it once without one and send that.")
    sizes: Counter[str] = Counter()
    for part in parts:
        with whole(), book.open(part) as stream:
            root = _root_of(stream)
        sizes[root if root in ("", "worksheet", "sst") else "beside"] += part.file_size
    if sizes["beside"] > MOST_BESIDE or sizes["sst"] > MOST_TEXTS:
        raise NotASpreadsheet(BOMB)


def sheet_parts(book: zipfile.ZipFile) -> list[Part]:
    """The sheets of a workbook in their order. Raises NotASpreadsheet where it is none."""
    targets: dict[str, str] = {}
    parts: list[Part] = []

    def relation(name: str, told: Mapping[str, str]) -> None:
        if name == "Relationship":
            targets[told.get("Id", "")] = told.get("Target", "")

    def sheet(name: str, told: Mapping[str, str]) -> None:
        if name == "sheet":
            target = targets.get(next((told[key] for key in told if key.endswith(":id")), ""), "")
            path = target.lstrip("/") if target.startswith("/") else posixpath.normpath(f"xl/{target}")
            parts.append(Part(told.get("name", ""), path, told.get("state", "visible") != "visible"))

    _walk(book, "xl/_rels/workbook.xml.rels", relation)
    _walk(book, "xl/workbook.xml", sheet)
    return parts


def looked_over(book: zipfile.ZipFile, path: str) -> Looked | None:
    """A look over one sheet; None if it is used beyond the limits, found without reading it whole."""
    look = _Look()
    try:
        _walk(book, path, look.begins, look.ends, look.told)
    except _TooFar:
        return None
    look.found.spans = [_clipped(span, look.found) for span in look.found.spans if _is_inside(span, look.found)]
    return look.found


class _Look:
    """Follows rows and cells as they come; places may be left out of the file where they follow each other."""

    def __init__(self) -> None:
        self.found = Looked()
        self.row = self.column = self.cells = 0
        self.formula = self.value = False
        self.inside = ""

    def begins(self, name: str, told: Mapping[str, str]) -> None:
        if name == "row":
            self.row = _number(told.get("r", "")) or self.row + 1
            self.column = 0
        elif name == "c":
            at = told.get("r", "")
            self.column = column_of(at.rstrip("0123456789")) or self.column + 1
            self.row = _number(at.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")) or self.row
            self.formula = self.value = False
            self.cells += 1
            if self.cells > MOST_CELLS:
                raise _TooFar
        elif name == "f":
            self.formula = True
        elif name == "mergeCell" and len(self.found.spans) < MOST_SPANS:
            self.found.spans.extend(_span(told.get("ref", "")))
        if name in ("v", "t"):
            self.inside = name

    def told(self, text: str) -> None:
        if self.inside and text.strip():
            self.value = True

    def ends(self, name: str) -> None:
        if name in ("v", "t"):
            self.inside = ""
        if name != "c" or not (self.value or self.formula):
            return
        if self.row > MOST_ROWS or self.column > MOST_COLUMNS:
            raise _TooFar
        self.found.last_row = max(self.found.last_row, self.row)
        self.found.last_column = max(self.found.last_column, self.column)
        if self.formula and not self.value:
            self.found.unread.append((self.row, self.column))


def _span(ref: str) -> list[Span]:
    """`B4:B6` as the span it is; nothing for anything else."""
    first, _, last = ref.partition(":")
    corners = [
        (_number(each.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")), column_of(each.rstrip("0123456789")))
        for each in (first, last)
    ]
    (top, left), (bottom, right) = corners
    return [Span(top, left, bottom, right)] if 0 < top <= bottom and 0 < left <= right else []


def _is_inside(span: Span, found: Looked) -> bool:
    return span.top <= found.last_row and span.left <= found.last_column


def _clipped(span: Span, found: Looked) -> Span:
    """A span as far as the sheet is used, so that one over all of a sheet is no work."""
    return Span(span.top, span.left, min(span.bottom, found.last_row), min(span.right, found.last_column))


def _number(told: str) -> int:
    return int(told) if told.isascii() and told.isdigit() and len(told) < 8 else 0


def _walk(
    book: zipfile.ZipFile,
    path: str,
    begins: Callable[[str, Mapping[str, str]], None],
    ends: Callable[[str], None] = lambda name: None,
    told: Callable[[str], None] = lambda text: None,
) -> None:
    """Tell every element of a part, by its name without its namespace, as it comes."""
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = _no_doctype
    parser.StartElementHandler = lambda name, told: begins(name.rpartition(":")[2], told)
    parser.EndElementHandler = lambda name: ends(name.rpartition(":")[2])
    parser.CharacterDataHandler = told
    with whole(), book.open(path) as stream:
        while piece := stream.read(A_PIECE):
            parser.Parse(piece, False)
        parser.Parse(b"", True)


def _root_of(stream: IO[bytes]) -> str:
    """The name of the first element of what is XML; '' for anything else, such as a picture. Raises NotASpreadsheet
    if it has a document type, which stands before that element."""
    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = _no_doctype
    parser.StartElementHandler = _first
    read = 0
    try:
        while read < HEAD and (piece := stream.read(A_PIECE)):
            read += len(piece)
            parser.Parse(piece, False)
    except _Root as first:
        return str(first)
    except expat.ExpatError:
        return ""
    if read >= HEAD:
        raise NotASpreadsheet(BROKEN)
    return ""


def _no_doctype(*told: object) -> None:
    raise NotASpreadsheet(
        "The workbook holds a document type, which no spreadsheet program writes: it is not opened. "
        "Copy the week into a new workbook."
    )


def _first(name: str, told: object) -> None:
    raise _Root(name.rpartition(":")[2])
