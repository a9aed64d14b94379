"""Sheets for tests, typed as a spreadsheet shows them, and the days of a plain school week."""

from scheduling.spreadsheets.days import Days
from scheduling.spreadsheets.found import Choices, Understood
from scheduling.spreadsheets.guessing import understood
from scheduling.spreadsheets.sheet import Place, Sheet, Span
from teamroom.common.clock import written_clock

NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday")
WEEK = Days([(name[:3].lower(), name) for name in NAMES])


def sheet(typed: str, *spans: Span, unread: tuple[Place, ...] = ()) -> Sheet:
    """A line for each row, cells parted by `|`; `/` in a cell begins a line."""
    cells = {
        (row, column): text.strip().replace("/", "\n")
        for row, line in enumerate(typed.strip("\n").split("\n"), start=1)
        for column, text in enumerate(line.split("|"), start=1)
        if text.strip()
    }
    return Sheet("Week", cells, spans, unread)


def read(typed: str, *spans: Span, days: Days = WEEK, **choices: str) -> Understood:
    told: Choices = {name.replace("_", "-"): value for name, value in choices.items()}
    return understood(sheet(typed, *spans), days, told)


def blocks(found: Understood) -> list[str]:
    """`mon 08:15-09:00 Math`, in order."""
    told = sorted(
        found.entries, key=lambda one: (list(WEEK.names).index(one.day) if one.day in WEEK.names else 9, one.start)
    )
    return [f"{one.day} {written_clock(one.start)}-{written_clock(one.end)} {one.activity}" for one in told]


def faults(found: Understood) -> list[str]:
    return [f"{fault.at}: {fault.said}" for fault in found.faults]


def said(found: Understood) -> str:
    return " ".join(guess.said for guess in found.guesses)


def value(found: Understood, key: str) -> str:
    """What holds for a guess; '' where nothing was guessed under that key."""
    return next((guess.value for guess in found.guesses if guess.key == key), "")
