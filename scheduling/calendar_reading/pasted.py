"""Lines pasted from a spreadsheet or a letter, each with its dates and a name."""

import datetime as dt
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from scheduling.calendar_reading.spans import LONGEST_NAME, Span
from scheduling.calendar_reading.written_dates import (
    DAY_ALONE,
    TO,
    WEEKDAY,
    Around,
    NoSuchDate,
    Written,
    date_of,
    dates_in,
    latest_until,
)

MOST_LINES = 400
LONGEST_LINE = 400
NAMELESS = "Closed"
AN_EXAMPLE = "Nov 26-27, 2026, Thanksgiving Break"

# Words of the line above a table.
HEADING = re.compile(
    r"(dates?|days?|weekday|starts?|starting|begins?|ends?|ending|first|last|from|to|through|until|names?|events?"
    r"|holidays?|closures?|closed|description|reason|title|calendar|school|no|of|and|or|the|s)",
    re.IGNORECASE,
)
GAP = re.compile(r"[\s,;|:–—-]*")
BETWEEN_COLUMNS = re.compile(r"\s*[,;|]\s*|\t\s*|\s{2,}")
PIECES = re.compile(r"\t|\s{2,}|[;|]")
NOTHING_SAID = re.compile(rf"\d*|{WEEKDAY}(?:\s*(?:-|–|to)\s*{WEEKDAY})?", re.IGNORECASE)
IN_BRACKETS = re.compile(rf"\(\s*{WEEKDAY}(?:\s*(?:-|–|to)\s*{WEEKDAY})?\s*\)", re.IGNORECASE)
EDGES = " \t,;:|-–—*•"


@dataclass(frozen=True, slots=True)
class Line:
    """A line as pasted, counted from 1; what it was understood as, or why it was not, with how to mend it."""

    number: int
    text: str
    span: Span | None
    fault: str = ""


@dataclass(frozen=True)
class Pasted:
    """What was pasted. `left_off` lines come after the most that are read at once."""

    lines: tuple[Line, ...]
    headings: tuple[int, ...]
    left_off: int = 0

    @property
    def understood(self) -> list[Line]:
        return [line for line in self.lines if line.span is not None]

    @property
    def faults(self) -> list[Line]:
        return [line for line in self.lines if line.span is None]


def read_pasted(text: str, *, first_day: dt.date, last_day: dt.date) -> Pasted:
    """Each line that is not empty, understood or not. Any text is read; nothing is raised."""
    around = Around(first_day, last_day)
    rows = [(number, row) for number, row in enumerate(_rows(text), start=1) if row.strip(EDGES)]
    headings = tuple(number for number, row in rows[:1] if is_heading(row))
    rows = rows[len(headings) :]
    lines = tuple(_line(number, row, around) for number, row in rows[:MOST_LINES])
    return Pasted(lines, headings, max(0, len(rows) - MOST_LINES))


def _rows(text: str) -> list[str]:
    # Quotes are a spreadsheet's way of keeping commas in a cell; control characters are nobody's.
    plain = "".join(letter if letter.isprintable() or letter in "\t\n\r" else " " for letter in text.replace('"', ""))
    return plain.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def is_heading(row: str) -> bool:
    """Whether a line is the head of a table: words of one, and no date."""
    words = re.findall(r"\w+", row)
    return bool(words) and all(HEADING.fullmatch(word) for word in words)


def _line(number: int, row: str, around: Around) -> Line:
    text = row.strip()
    if len(text) > LONGEST_LINE:
        return Line(number, text[:60] + "…", None, "The line is too long: give each closure a line of its own.")
    try:
        return Line(number, text, _span(text, around))
    except NoSuchDate as fault:
        told = str(fault)
        return Line(number, text, None, f"{told[:1].upper()}{told[1:]}.")


def _span(text: str, around: Around) -> Span:
    found = list(dates_in(text))
    if not found:
        raise NoSuchDate(f"no date was found: write it as in “{AN_EXAMPLE}”")
    if len(found) > 2:
        raise NoSuchDate("there are more than two dates: give each closure a line of its own")
    first, last, start, end = _dates(text, found, around)
    if last < first:
        raise NoSuchDate(f"the last day, {last:%b} {last.day}, {last.year}, comes before the first")
    name = _name(text[:start], text[end:])
    if len(name) > LONGEST_NAME:
        raise NoSuchDate(f"the name is longer than {LONGEST_NAME} letters: shorten it")
    return Span(first, last, name or NAMELESS)


def _dates(text: str, found: list[Written], around: Around) -> tuple[dt.date, dt.date, int, int]:
    """The first and last date of a line, and where in it they begin and end."""
    one = found[0]
    if len(found) == 1:
        alone = DAY_ALONE.match(text, one.end) if one.year is None else None
        if alone is None:
            date = date_of(one, around)
            return date, date, one.start, one.end
        return *_in_one_month(one, alone, around), one.start, alone.end()
    other = found[1]
    between = text[one.end : other.start]
    if not (TO.fullmatch(between) or BETWEEN_COLUMNS.fullmatch(between)):
        raise NoSuchDate("there are two dates apart: write them side by side, or in two lines")
    return *_two(one, other, around), one.start, other.end


def _in_one_month(one: Written, alone: re.Match[str], around: Around) -> tuple[dt.date, dt.date]:
    """`Nov 26-27, 2026`: two days of one month."""
    year = int(alone["year"]) if alone["year"] else one.year
    first = date_of(replace(one, year=year), around)
    last = date_of(replace(one, year=first.year, day=int(alone["day"]), weekday=None), around)
    if alone["and"] and (last - first).days != 1:
        raise NoSuchDate("there are several days apart: give each a line of its own")
    return first, last


def _two(one: Written, other: Written, around: Around) -> tuple[dt.date, dt.date]:
    if one.year is None and other.year is not None:
        last = date_of(other, around)
        return latest_until(one, last), last
    first = date_of(one, around)
    return first, date_of(other, around, not_before=first)


def _name(before: str, after: str) -> str:
    """What is said besides the dates, without numbers and weekdays that stand alone in a column."""
    after = after[GAP.match(after).end() :]  # type: ignore[union-attr]  # it matches the empty text too
    return ", ".join(_pieces(before, after))


def _pieces(*sides: str) -> Iterator[str]:
    for side in sides:
        for piece in PIECES.split(IN_BRACKETS.sub(" ", side)):
            told = " ".join(piece.split()).strip(EDGES)
            if told and not NOTHING_SAID.fullmatch(told):
                yield told
