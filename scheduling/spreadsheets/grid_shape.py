"""A sheet that is a grid: days across, times down, a block in the cells that it takes."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from scheduling.spreadsheets.days import Days
from scheduling.spreadsheets.found import Choices, Entry, Finding, Options, chosen
from scheduling.spreadsheets.list_shape import HEADS_LOOKED_AT, chosen_reading
from scheduling.spreadsheets.sheet import Sheet, Span, address, column_of, letters, span_said
from scheduling.spreadsheets.times import (
    DAY,
    EARLIEST,
    NOON,
    HalfDays,
    NoTime,
    Written,
    clock_typed,
    label_times,
    time_in,
)
from teamroom.common.clock import said_clock, written_clock

DITTO = "\u2033"
DITTOS = {'"', "''", "\u2033", "\u201d", "\u201c", "\u3003"}
FREE = {"", "-", "–", "—"}
FEWEST_DAYS = 2
LENGTHS = (5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 75, 90)


@dataclass(frozen=True)
class GridHead:
    """The row that names the days, their columns, and the columns of the times (start, or start and end)."""

    row: int
    days: tuple[tuple[int, str], ...]
    times: tuple[int, ...]


@dataclass
class TimeRow:
    """A row of the grid with its time; the end is known from its label, or from the row below."""

    number: int
    start: int
    end: int


def grid_heads(sheet: Sheet, days: Days) -> list[GridHead]:
    """The rows that can name the days of a grid with times below, likeliest first."""
    heads = [head for row in sheet.rows[:HEADS_LOOKED_AT] if (head := _head(sheet, row, days)) is not None]
    return sorted(heads, key=lambda head: -len(head.days))


def read_grid(sheet: Sheet, days: Days, choices: Choices) -> Finding:
    """The blocks of a grid, as guessed and as chosen."""
    found = Finding()
    heads = grid_heads(sheet, days)
    if not heads:
        found.fault(
            (sheet.rows[0], sheet.columns[0]),
            "No row names two days or more with times below it: write the days across and the times down.",
        )
        return found
    options: Options = tuple((str(head.row), f"Row {head.row}") for head in sorted(heads, key=lambda head: head.row))
    value = chosen(choices, "header", options, str(heads[0].row))
    head = next(head for head in heads if str(head.row) == value)
    found.choice(
        "header", "Names of the days", value, options, f"Row {value} names the days: {_days_said(head, days)}."
    )
    head = _chosen_times(sheet, head, choices, found)
    rows = _time_rows(sheet, head, choices, found)
    _stray_texts(sheet, head, rows, found)
    if rows:
        _Blocks(sheet, head, rows, choices, found).read()
    return found


def _head(sheet: Sheet, row: int, days: Days) -> GridHead | None:
    named = {column: _day(sheet, row, column, days) for column in sheet.columns}
    found: dict[str, int] = {}
    for column, key in named.items():
        if key is not None:
            found.setdefault(key, column)
    if len(found) < min(FEWEST_DAYS, len(days.names)):
        return None
    named_days = tuple((column, key) for key, column in found.items())
    counts = _timed(sheet, row, named_days)
    most = max(counts.values(), default=0)
    timed = [column for column in counts if counts[column] * 2 >= most]
    if not timed:
        return None
    return GridHead(row, named_days, _times_from(sheet, row, timed[0], timed))


def _timed(sheet: Sheet, row: int, days: Sequence[tuple[int, str]]) -> dict[int, int]:
    """How many times stand below a row in each column that is no day's, without those that have none."""
    below = [number for number in sheet.rows if number > row]
    others = [column for column in sheet.columns if column not in dict(days)]
    counts = {column: sum(1 for each in below if label_times(sheet.own(each, column)) is not None) for column in others}
    return {column: count for column, count in counts.items() if count}


def _times_from(sheet: Sheet, row: int, start: int, timed: Collection[int]) -> tuple[int, ...]:
    """The column of the times, and the one beside it if that says the ends."""
    labels = (label_times(sheet.own(number, start)) for number in sheet.rows if number > row)
    if start + 1 not in timed or any(label is not None and label[1] is not None for label in labels):
        return (start,)
    return start, start + 1


def _chosen_times(sheet: Sheet, head: GridHead, choices: Choices, found: Finding) -> GridHead:
    """The head with the column of times that somebody chose; asked only where several have times."""
    timed = _timed(sheet, head.row, head.days)
    options: Options = tuple((letters(column), f"Column {letters(column)}") for column in timed)
    value = chosen(choices, "times", options, letters(head.times[0]))
    start = column_of(value)
    times = head.times if start == head.times[0] else _times_from(sheet, head.row, start, timed)
    told = [letters(column) for column in times]
    said = f"Columns {told[0]} and {told[1]} have the times." if len(told) > 1 else f"Column {value} has the times."
    if len(timed) > 1:
        found.choice("times", "Times", value, options, said)
    else:
        found.guess(said)
    return GridHead(head.row, head.days, times)


def _day(sheet: Sheet, row: int, column: int, days: Days) -> str | None:
    """The day a column is named for: alone, with a date or so below it in its cell, or with the week above it."""
    text = sheet.text(row, column)
    alone = days.one(text) or days.one(text.partition("\n")[0])
    if alone is not None or not text or row == 1:
        return alone
    return days.one(f"{sheet.text(row - 1, column)} {text}")


def _days_said(head: GridHead, days: Days) -> str:
    return ", ".join(f"{letters(column)} {days.names[key]}" for column, key in head.days)


def _time_rows(sheet: Sheet, head: GridHead, choices: Choices, found: Finding) -> list[TimeRow]:
    """The rows with a time, in order. A label that does not follow the one above is a fault."""
    labels: list[tuple[int, Written, Written | None]] = []
    column = head.times[0]
    for number in (row for row in sheet.rows if row > head.row):
        told = label_times(sheet.own(number, column))
        if told is None:
            continue
        first, last = told
        if len(head.times) == 2:
            last = _end_beside(sheet, number, head.times[1], found)
        labels.append((number, first, last))
    said: dict[HalfDays, str] = {
        "12": "The times run on past noon: 1:05 below 12:45 is the afternoon.",
        "24": "The times are taken as they stand, by the 24-hour clock.",
    }
    every = [time for _, first, last in labels for time in (first, last) if time is not None]
    reading = chosen_reading(every, choices, found, said)
    rows = _followed(labels, _running_on(every, reading), column, found)
    if rows and not rows[-1].end:
        _last_end(rows, any(_has_block(sheet, rows[-1].number, day) for day, _ in head.days), choices, found)
    return rows


def _has_block(sheet: Sheet, row: int, column: int) -> bool:
    return sheet.text(row, column) not in FREE


def _end_beside(sheet: Sheet, number: int, column: int, found: Finding) -> Written | None:
    text = sheet.own(number, column)
    if not text:
        return None
    try:
        return time_in(text)
    except NoTime as fault:
        found.fault((number, column), f"{fault}.")
        return None


def _running_on(times: Sequence[Written], reading: HalfDays) -> list[int]:
    """Minutes of times in the order of a day: by the twelve-hour clock, early ones are past noon once they go back."""
    if reading == "24":
        return [time.minutes() for time in times]
    morning = any(EARLIEST <= time.hour < 12 and time.half != "pm" for time in times)
    past_noon, before, told = not morning, 0, []
    for time in times:
        minutes = time.minutes()
        if time.is_open and time.hour < EARLIEST:
            past_noon = past_noon or minutes < before
            minutes += NOON if past_noon else 0
        before = minutes
        told.append(minutes)
    return told


def _followed(
    labels: Sequence[tuple[int, Written, Written | None]],
    minutes: Sequence[int],
    column: int,
    found: Finding,
) -> list[TimeRow]:
    told = iter(minutes)
    rows: list[TimeRow] = []
    for number, _, last in labels:
        start = next(told)
        end = (next(told) or DAY) if last is not None else 0
        before = rows[-1] if rows else None
        if start >= DAY or (before is not None and start < (before.end or before.start + 1)):
            found.fault((number, column), "This time does not come after the one above: mend one of them.")
            continue
        if last is not None and end <= start:
            found.fault((number, column), "The end does not come after the start: mend one of them.")
            continue
        if before is not None and not before.end:
            before.end = start
        rows.append(TimeRow(number, start, end))
    return rows


def _last_end(rows: list[TimeRow], has_block: bool, choices: Choices, found: Finding) -> None:
    """The end of a last row that says none: it is as long as the one above it, unless somebody says otherwise."""
    last = rows[-1]
    if not has_block:
        last.end = last.start  # It only says when the row above it ends.
        return
    length = rows[-2].end - rows[-2].start if len(rows) > 1 else 30
    ends = sorted({last.start + each for each in (*LENGTHS, length) if last.start + each <= DAY}) or [DAY]
    options: Options = tuple((written_clock(end), f"At {said_clock(end)}") for end in ends)
    value = chosen(choices, "last", options, written_clock(min(last.start + length, ends[-1])))
    last.end = next(end for end in ends if written_clock(end) == value)
    said = f"Row {last.number} is the last and says no end: it is taken to end at {said_clock(last.end)}."
    found.choice("last", "End of the last row", value, options, said)


def _stray_texts(sheet: Sheet, head: GridHead, rows: Sequence[TimeRow], found: Finding) -> None:
    """Texts under a day in a row without a time: between the times a fault, above and below them left out."""
    timed = {row.number for row in rows}
    first, last = (rows[0].number, rows[-1].number) if rows else (0, 0)
    column = head.times[0]
    left_out = []
    for number in (row for row in sheet.rows if row > head.row and row not in timed):
        if any(fault.at == address(number, column) for fault in found.faults):
            continue
        texts = [day for day, _ in head.days if sheet.own(number, day) not in FREE]
        if first < number < last and texts and sheet.span_at(number, column).top not in timed:
            found.fault((number, column), "This row has blocks and no time: write its time, or empty the row.")
        elif first < number < last and texts:
            found.fault((number, texts[0]), "This row has no time of its own: write one, or empty the cell.")
        elif not first < number < last and any(sheet.own(number, each) for each in sheet.columns):
            left_out.append(number)
    if left_out:
        told = ", ".join(str(number) for number in left_out[:10]) + (" and more" if len(left_out) > 10 else "")
        found.guess(f"Without a time, and so left out: {'row' if len(left_out) == 1 else 'rows'} {told}.")
    if not rows:
        found.fault((head.row, column), "No time was found below the days: write when each row begins, as in 8:15.")


class _Blocks:
    """The blocks of a grid's cells, column by column."""

    def __init__(self, sheet: Sheet, head: GridHead, rows: Sequence[TimeRow], choices: Choices, found: Finding) -> None:
        self.sheet, self.head, self.rows, self.found = sheet, head, rows, found
        self.repeats = self._chosen_repeats(choices)

    def read(self) -> None:
        across: set[Span] = set()
        for column, day in self.head.days:
            for entry in self._of_a_day(column, day, across):
                self.found.entries.append(entry)
        if across:
            told = ", ".join(span_said(span) for span in sorted(across)[:10])
            self.found.guess(f"Cells merged across days are a block on each of them: {told}.")
        if any("\n" in self._text(row.number, column) for row in self.rows for column, _ in self.head.days):
            self.found.guess("The first line in a cell is the activity; what stands below it is the reason.")

    def _chosen_repeats(self, choices: Choices) -> bool:
        """Whether a text repeated in the cell below is one block. Asked only where there is such a text."""
        told = {" ".join(self._text(row.number, column).split()) for row in self.rows for column, _ in self.head.days}
        corner = self.sheet.text(self.head.row, self.head.times[0])
        marked = bool(told & DITTOS) or any(mark in corner for mark in DITTOS)
        merged = any(
            self._span(row.number, column).bottom > row.number for row in self.rows for column, _ in self.head.days
        )
        pairs = zip(self.rows, self.rows[1:], strict=False)
        at = next(
            (
                address(below.number, column)
                for above, below in pairs
                for column, _ in self.head.days
                if self._repeated(above, below, column)
            ),
            "",
        )
        options: Options = (("one", "One block"), ("own", "Blocks of their own"))
        value = chosen(choices, "repeats", options, "own" if marked or merged else "one")
        said = {
            "one": f"The same text in the cell below is the same block going on, as in {at}.",
            "own": f"The same text in the cell below is a block of its own, as in {at}.",
        }
        if at:
            self.found.choice("repeats", "The same text below", value, options, said[value])
        return value == "one"

    def _repeated(self, above: TimeRow, below: TimeRow, column: int) -> bool:
        text = self._text(below.number, column)
        if text in FREE or text in DITTOS or above.end != below.start:
            return False
        return text == self._text(above.number, column) and self._span(above.number, column) != self._span(
            below.number, column
        )

    def _of_a_day(self, column: int, day: str, across: set[Span]) -> Iterator[Entry]:
        place = 0
        while place < len(self.rows):
            row = self.rows[place]
            text = self._text(row.number, column)
            if text in DITTOS:
                self.found.fault((row.number, column), "Nothing above it goes on here: write the activity.")
            if text in FREE or text in DITTOS:
                place += 1
                continue
            last = self._last(place, column)
            span = self._span(row.number, column)
            if span.right > span.left:
                across.add(span)
            activity, _, why = text.partition("\n")
            shown = Span(row.number, column, self.rows[last].number, column)
            yield Entry(day, row.start, self.rows[last].end, " ".join(activity.split()), why.strip(), span_said(shown))
            place = last + 1

    def _last(self, place: int, column: int) -> int:
        """The last of the rows that the block beginning in one takes."""
        bottom = self._span(self.rows[place].number, column).bottom
        last = place
        while last + 1 < len(self.rows):
            below = self.rows[last + 1]
            on = below.number <= bottom or self._text(below.number, column) in DITTOS
            if not on and not (self.repeats and self._repeated(self.rows[last], below, column)):
                break
            bottom = max(bottom, self._span(below.number, column).bottom)
            last += 1
        return last

    def _text(self, row: int, column: int) -> str:
        return self.sheet.text(row, column)

    def _span(self, row: int, column: int) -> Span:
        return self.sheet.span_at(row, column)


def clock_label(start: int, end: int) -> str:
    """A row's label that is read back as it was meant."""
    return f"{clock_typed(start)} - {clock_typed(end)}"
