"""A file of somebody's computer as sheets of cells, or a sentence that says why it is not read."""

from dataclasses import dataclass

from scheduling.spreadsheets.reading_csv import read_csv
from scheduling.spreadsheets.reading_xlsx import read_xlsx
from scheduling.spreadsheets.sheet import NotASpreadsheet, Sheet

MEBIBYTE = 1024 * 1024
LARGEST_FILE = 2 * MEBIBYTE
SAVE_IT = "Open it in your spreadsheet program and save it as an Excel workbook (.xlsx) or as CSV."
# How other files begin.
KNOWN = (
    (b"%PDF", "a PDF, which has no cells. Ask for the spreadsheet it was printed from."),
    (b"\x89PNG", "a picture, which has no cells. Type the week into a spreadsheet, or begin it on the screen."),
    (b"\xff\xd8\xff", "a picture, which has no cells. Type the week into a spreadsheet, or begin it on the screen."),
    (b"{\\rtf", "a text document. Copy its table into a spreadsheet and save that."),
    (b"<", f"a web page or XML, not a spreadsheet. {SAVE_IT}"),
)
COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
ENCRYPTED = "EncryptedPackage".encode("utf-16-le")


@dataclass(frozen=True)
class ReadFile:
    """The sheets of a file that hold something, and what was guessed or left out in reading them."""

    sheets: tuple[Sheet, ...]
    said: tuple[str, ...] = ()


def read_file(data: bytes) -> ReadFile:
    """Every sheet of a CSV file or an Excel workbook. Raises NotASpreadsheet."""
    if len(data) > LARGEST_FILE:
        raise NotASpreadsheet(
            f"The file is larger than {LARGEST_FILE // MEBIBYTE} MiB. "
            "Copy the sheet with the week into a file of its own and send that."
        )
    if not data.strip():
        raise NotASpreadsheet("The file is empty. Choose another.")
    if data.startswith(COMPOUND):
        raise NotASpreadsheet(_compound(data))
    if data.startswith(b"PK"):
        return ReadFile(*read_xlsx(data))
    for beginning, what in KNOWN:
        if data.lstrip().startswith(beginning):
            raise NotASpreadsheet(f"This is {what}")
    return ReadFile(*read_csv(data))


def _compound(data: bytes) -> str:
    if ENCRYPTED in data:
        return "The workbook is locked with a password. Save it once without one and send that."
    return f"This is a workbook of the older kind (.xls), which is not read. {SAVE_IT}"
