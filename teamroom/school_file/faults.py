"""A fault of a school file: where it is, and a sentence on how to mend it."""

import difflib
import json
import re
from collections.abc import Iterable
from typing import NamedTuple

Place = tuple[str | int, ...]

PLAIN = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
LONGEST_SHOWN = 60


class Fault(NamedTuple):
    """`place` holds the keys and list places from the top of the file down."""

    place: Place
    sentence: str

    def __str__(self) -> str:
        return f"{json_path(self.place)}: {self.sentence}"


class FileRefused(Exception):
    """A school file that cannot be loaded, with all its faults in the order of the file."""

    def __init__(self, faults: list[Fault]) -> None:
        super().__init__(f"{len(faults)} faults")
        self.faults = faults


def json_path(place: Place) -> str:
    """The place as `$.weeks[0].columns[1]`."""
    return "$" + "".join(_step(step) for step in place)


def _step(step: str | int) -> str:
    if isinstance(step, int):
        return f"[{step}]"
    return f".{step}" if PLAIN.fullmatch(step) else f"[{json.dumps(step)}]"


def shown(value: object) -> str:
    """A value of the file as the file writes it, cut where it is long."""
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 3] + "..."


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that looks most like another, if any does."""
    known = list(known)
    folded = {name.casefold(): name for name in known}
    found = difflib.get_close_matches(word.casefold()[:100], folded, n=1, cutoff=0.5)
    return folded[found[0]] if found else None


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A sentence that names the nearest known word, or some of those there are."""
    known = list(known)
    near = nearest(word, known)
    if near is not None:
        return f"did you mean {shown(near)}?"
    if not known:
        return "the file names none."
    some = ", ".join(shown(name) for name in known[:12])
    return f"known are {some}{' and others' if len(known) > 12 else ''}."
