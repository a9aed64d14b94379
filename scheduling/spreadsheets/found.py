"""What is found in a sheet: blocks, what was guessed on the way, and cells that cannot be read."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from scheduling.spreadsheets.sheet import Place, address

MOST_FAULTS = 200
Options = tuple[tuple[str, str], ...]
"""Values that a guess can be changed to, each with its words."""
Choices = Mapping[str, str]
"""What somebody chose instead of a guess, by the guess's key; what is empty or makes no sense is guessed."""


@dataclass(frozen=True)
class Entry:
    """A block: the key of its day, minutes since midnight, the activity as written. `at` is where it stands."""

    day: str
    start: int
    end: int
    activity: str
    why: str = ""
    at: str = field(default="", compare=False)


@dataclass(frozen=True)
class Guess:
    """What was taken for granted, as a sentence. With `options` somebody can choose otherwise under its key;
    `value` is what holds."""

    said: str
    key: str = ""
    label: str = ""
    value: str = ""
    options: Options = ()


@dataclass(frozen=True)
class Fault:
    """A cell, or several, that no block can be made of, with what to do."""

    at: str
    said: str


@dataclass(frozen=True)
class Understood:
    """All that was found in a sheet. `shape` is '' where it is neither a list nor a grid."""

    shape: str
    guesses: tuple[Guess, ...]
    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...]


@dataclass
class Finding:
    """What a reader of one shape gathers as it goes."""

    guesses: list[Guess] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def guess(self, said: str) -> None:
        self.guesses.append(Guess(said))

    def choice(self, key: str, label: str, value: str, options: Options, said: str) -> None:
        self.guesses.append(Guess(said, key, label, value, options))

    def fault(self, place: Place, said: str) -> None:
        if len(self.faults) < MOST_FAULTS:
            self.faults.append(Fault(address(*place), said))


def chosen(choices: Choices, key: str, options: Options, otherwise: str) -> str:
    """What somebody chose under a key, if it is one of the options; else the guess."""
    told = choices.get(key, "")
    return told if told in {value for value, _ in options} else otherwise
