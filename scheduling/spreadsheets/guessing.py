"""What a sheet is taken for, and the blocks found in it. Each guess is said, and most can be chosen otherwise."""

from collections.abc import Iterable, Sequence

from scheduling.spreadsheets.days import Days
from scheduling.spreadsheets.found import Choices, Entry, Fault, Finding, Guess, Options, Understood, chosen
from scheduling.spreadsheets.grid_shape import grid_heads, read_grid
from scheduling.spreadsheets.list_shape import list_head, read_list
from scheduling.spreadsheets.sheet import LONGEST_CELL, Sheet, address
from teamroom.common.clock import said_span

MOST_ENTRIES = 600
SHAPES: Options = (("list", "A list: a row for each block"), ("grid", "A grid: days across, times down"))
SAID = {
    "list": "The sheet is read as a list: a row for each block.",
    "grid": "The sheet is read as a grid: days across, times down.",
}
NEITHER = (
    "The sheet is neither a list nor a grid that is known here. A list has a row that names its columns (day, start, "
    "end, activity); a grid has a row that names the days and a column of times below it."
)
READERS = {"list": read_list, "grid": read_grid}


def understood(sheet: Sheet, days: Days, choices: Choices) -> Understood:
    """The blocks of a sheet. Nothing is raised: what cannot be read is a fault at its address."""
    guessed = "list" if list_head(sheet) else "grid" if grid_heads(sheet, days) else ""
    shape = chosen(choices, "shape", SHAPES, guessed)
    found = READERS[shape](sheet, days, choices) if shape else Finding(faults=[Fault("", NEITHER)])
    options = SHAPES if shape else (("", "Choose"), *SHAPES)
    guesses = [Guess(SAID.get(shape, "No shape was found."), "shape", "Shape", shape, options), *found.guesses]
    faults = [*_without_value(sheet), *found.faults]
    faults += [Fault(entry.at, "The reason is too long: shorten it.") for entry in found.entries if _is_long(entry)]
    if shape and not found.entries and not faults:
        faults.append(Fault("", "No block was found in the sheet."))
    if len(found.entries) > MOST_ENTRIES:
        faults.append(Fault("", f"These are more than {MOST_ENTRIES} blocks, so this is more than a week."))
        found.entries = []
    return Understood(shape, tuple(guesses), tuple(found.entries), tuple(faults))


def _is_long(entry: Entry) -> bool:
    return len(entry.why) > LONGEST_CELL


def overlaps(entries: Iterable[Entry], days: Days) -> list[Fault]:
    """Blocks of one day that take the same time, both by their addresses."""
    faults: list[Fault] = []
    before: Entry | None = None
    for entry in sorted(entries, key=lambda one: (one.day, one.start, one.end)):
        if before is not None and before.day == entry.day and entry.start < before.end:
            faults.append(_overlap(before, entry, days))
        if before is None or before.day != entry.day or entry.end > before.end:
            before = entry
    return faults


def _overlap(one: Entry, other: Entry, days: Days) -> Fault:
    both = [f"{each.activity} in {each.at} ({said_span(each.start, each.end)})" for each in (one, other)]
    said = f"On {days.names[one.day]}, {both[0]} and {both[1]} take the same time: mend one of them, or leave one out."
    return Fault(f"{one.at} and {other.at}", said)


def _without_value(sheet: Sheet) -> Sequence[Fault]:
    return [
        Fault(
            address(*place),
            "This is a formula without the value it gave. Open the file in your spreadsheet program and save it once, "
            "or type the value.",
        )
        for place in sheet.unread
    ]
