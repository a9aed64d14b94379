"""A sheet that is a list: a row for each block, with columns for day, start, end, activity, perhaps a reason."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from scheduling.spreadsheets.days import Days
from scheduling.spreadsheets.found import Choices, Entry, Finding, Options, chosen
from scheduling.spreadsheets.names import folded
from scheduling.spreadsheets.sheet import Sheet, address, column_of, letters
from scheduling.spreadsheets.times import DAY, NOON, HalfDays, NoTime, Written, label_times, reading_of, times_in

# Usual words above the columns, those that say it plainly and those that others may mean.
WORDS = {
    "day": {"day", "days", "weekday", "weekdays"},
    "start": {"start", "starts", "starting", "begin", "begins", "beginning"},
    "end": {"end", "ends", "ending", "finish", "finishes", "until", "till", "stop", "stops"},
    "activity": {"activity", "activities", "subject", "subjects"},
    "why": {"why", "reason", "reasons", "note", "notes", "comment", "comments", "remark", "remarks", "details"},
    "time": {"time", "times", "hours"},
}
WEAK = {
    "start": {"from"},
    "end": {"to"},
    "activity": {"class", "lesson", "content", "what", "event", "course"},
    "time": {"when"},
}
LONGEST_HEADING, LONGEST_WEAK = 5, 2
"""Words of a heading."""
SAID = {
    "day": "Day",
    "start": "Start, or start and end",
    "end": "End",
    "activity": "Activity",
    "why": "Reason",
}
HEADS_LOOKED_AT = 30
HEADS_OFFERED = 12
NONE = "none"


@dataclass(frozen=True)
class Head:
    """The rows that name the columns (none of them: 0), and which column each part of a block is in."""

    first: int
    last: int
    columns: Mapping[str, int]

    @property
    def value(self) -> str:
        return f"{self.first}" if self.first == self.last else f"{self.first}-{self.last}"

    @property
    def is_list(self) -> bool:
        return {"day", "start", "activity"} <= self.columns.keys()


@dataclass(frozen=True)
class Row:
    """A row of the list as written."""

    number: int
    days: list[str]
    start: Written
    end: Written
    activity: str
    why: str


def list_head(sheet: Sheet) -> Head | None:
    """The row that names a list's columns, if any does, or two of them that do it together."""
    best: Head | None = None
    for row in sheet.rows[:HEADS_LOOKED_AT]:
        for last in (row, row + 1) if not _has_times(sheet, row + 1) else (row,):
            head = _head(sheet, row, last)
            if head.is_list and (best is None or len(head.columns) > len(best.columns)):
                best = head
    return best


def _has_times(sheet: Sheet, row: int) -> bool:
    """Whether a row has a time, so that it is a block and names no column."""
    return any(label_times(sheet.own(row, column)) is not None for column in sheet.columns)


def read_list(sheet: Sheet, days: Days, choices: Choices) -> Finding:
    """The blocks of a list, as guessed and as chosen."""
    found = Finding()
    head = _chosen_head(sheet, choices, found)
    columns = _chosen_columns(sheet, head, choices, found)
    lacking = [SAID[part] for part in ("day", "start", "activity") if part not in columns]
    if lacking:
        found.fault(
            (head.last or 1, 1),
            f"No column is known for: {'; '.join(lacking)}. Choose them above, or name them in a row.",
        )
        return found
    rows = list(_rows(sheet, head, columns, days, found))
    reading = _chosen_clock([time for row in rows for time in (row.start, row.end)], choices, found)
    for row in rows:
        _entries(row, columns, reading, found)
    return found


def chosen_reading(times: list[Written], choices: Choices, found: Finding, said: Mapping[HalfDays, str]) -> HalfDays:
    """The clock that times go by; asked about only where it decides something."""
    reading, decided = reading_of(times)
    options: Options = (("12", "Afternoon where no am or pm is said"), ("24", "As they stand, by the 24-hour clock"))
    picked: HalfDays = "24" if chosen(choices, "clock", options, reading) == "24" else "12"
    if decided is not None:
        found.choice("clock", "Times before 7:00", picked, options, said[picked])
    return picked


def _chosen_clock(times: list[Written], choices: Choices, found: Finding) -> HalfDays:
    said: dict[HalfDays, str] = {
        "12": "Times from 1:00 to 6:59 without am or pm are taken as the afternoon.",
        "24": "Times are taken as they stand, by the 24-hour clock: 1:05 is in the night.",
    }
    return chosen_reading(times, choices, found, said)


def _head(sheet: Sheet, first: int, last: int) -> Head:
    columns: dict[str, int] = {}
    weak: dict[str, int] = {}
    for column in sheet.columns:
        texts = [sheet.text(row, column) for row in range(first, last + 1)]
        words = folded(" ".join(dict.fromkeys(texts))).split()
        part = _part(words, WORDS) if len(words) <= LONGEST_HEADING else ""
        if not part or part == "time":
            maybe = _part(words, WEAK) if len(words) <= LONGEST_WEAK else ""
            weak.setdefault(maybe or part, column)
        else:
            columns.setdefault(part, column)
    for part, column in weak.items():
        columns.setdefault(part, column)
    columns.pop("", None)
    time = columns.pop("time", None)
    if time is not None:
        columns.setdefault("start", time)
    return Head(first, last, columns)


def _part(words: list[str], known: Mapping[str, set[str]]) -> str:
    """Which part of a block a column's name speaks of: `Start time` of the start, `Time` of both."""
    for part in ("start", "end", "activity", "why", "time", "day"):
        if any(word in known.get(part, ()) for word in words):
            return part
    return ""


def _chosen_head(sheet: Sheet, choices: Choices, found: Finding) -> Head:
    guessed = list_head(sheet)
    rows = [str(row) for row in sheet.rows[:HEADS_OFFERED]]
    two = guessed.value if guessed else ""
    options: Options = (
        *([(two, _rows_said(two))] if "-" in two else []),
        *((row, _rows_said(row)) for row in rows),
        (NONE, "None: the blocks begin in the first row"),
    )
    value = chosen(choices, "header", options, guessed.value if guessed else NONE)
    first, _, last = value.partition("-")
    head = Head(0, 0, {}) if value == NONE else _head(sheet, int(first), int(last or first))
    said = (
        "No row names the columns."
        if value == NONE
        else f"{_rows_said(value)} {'name' if last else 'names'} the columns."
    )
    found.choice("header", "Names of the columns", value, options, said)
    return head


def _rows_said(value: str) -> str:
    first, _, last = value.partition("-")
    return f"Rows {first} and {last}" if last else f"Row {first}"


def _chosen_columns(sheet: Sheet, head: Head, choices: Choices, found: Finding) -> dict[str, int]:
    columns: dict[str, int] = {}
    options: Options = (
        (NONE, "No column"),
        *((letters(column), _column_said(sheet, head, column)) for column in sheet.columns),
    )
    for part, label in SAID.items():
        guessed = letters(head.columns[part]) if part in head.columns else NONE
        value = chosen(choices, f"column-{part}", options, guessed)
        if value != NONE:
            columns[part] = column_of(value)
        said = f"{label}: column {value}." if value != NONE else f"{label}: no column."
        found.choice(f"column-{part}", label, value, options, said)
    return columns


def _column_said(sheet: Sheet, head: Head, column: int) -> str:
    row = head.last or sheet.rows[0]
    told = " ".join(sheet.text(row, column).split())[:30]
    return f"Column {letters(column)}, “{told}”" if told else f"Column {letters(column)}"


def _rows(sheet: Sheet, head: Head, columns: Mapping[str, int], days: Days, found: Finding) -> Iterator[Row]:
    above: list[str] = []
    left_out: list[int] = []
    carried = False
    for number in (row for row in sheet.rows if row > head.last):
        texts = {part: sheet.text(number, column) for part, column in columns.items()}
        if texts["day"]:
            above = days.several(texts["day"])
        if not texts["start"] and not texts.get("end") and not (texts["day"] and texts["activity"]):
            left_out += [number] if any(texts.values()) else []
            continue
        row = _row(sheet, number, texts, columns, above, days, found)
        carried |= row is not None and not texts["day"]
        if row is not None:
            yield row
    if carried:
        found.guess("Where the day is empty, it is the one above.")
    if left_out:
        found.guess(f"Without times, and so left out: {_numbers_said(left_out)}.")


def _row(
    sheet: Sheet,
    number: int,
    texts: Mapping[str, str],
    columns: Mapping[str, int],
    on: list[str],
    days: Days,
    found: Finding,
) -> Row | None:
    if not on:
        told = f"“{texts['day']}” is no day of this week: write {days.said(days.usual[:2])}, and so on"
        found.fault((number, columns["day"]), f"{told if texts['day'] else 'The day is missing: write it'}.")
        return None
    times = _times(number, texts, columns, found)
    if times is None:
        return None
    activity, _, below = texts["activity"].partition("\n")
    if not activity:
        found.fault(
            (number, columns["activity"]), "The activity is missing: write what the time is for, or empty the row."
        )
        return None
    why = "\n".join(filter(None, (below.strip(), texts.get("why", ""))))
    return Row(number, on, *times, " ".join(activity.split()), why)


def _times(
    number: int, texts: Mapping[str, str], columns: Mapping[str, int], found: Finding
) -> tuple[Written, Written] | None:
    """Start and end of a row, from one cell or two."""
    read: list[Written] = []
    for part in ("start", "end"):
        if part == "end" and len(read) == 2:
            break
        text = texts.get(part, "")
        place = number, columns.get(part, columns["start"])
        try:
            if not text:
                raise NoTime("The end is missing: write it" if part == "end" else "The start is missing: write it")
            first, last = times_in(text)
        except NoTime as fault:
            found.fault(place, f"{fault}.")
            return None
        read += [first] if last is None else [first, last]
    return read[0], read[1]


def _entries(row: Row, columns: Mapping[str, int], reading: HalfDays, found: Finding) -> None:
    start, end = row.start.minutes(reading), row.end.minutes(reading) or DAY
    if end <= start and row.start.is_open and start >= NOON and start - NOON < end:
        start -= NOON
    if end <= start:
        place = row.number, columns.get("end", columns["start"])
        found.fault(place, "The end does not come after the start: mend one of them.")
        return
    at = address(row.number, columns["activity"])
    found.entries += [Entry(day, start, end, row.activity, row.why, at) for day in row.days]


def _numbers_said(rows: list[int]) -> str:
    some = ", ".join(str(row) for row in rows[:10])
    more = f" and {len(rows) - 10} more" if len(rows) > 10 else ""
    return f"{'row' if len(rows) == 1 else 'rows'} {some}{more}"
