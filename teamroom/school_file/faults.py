"""A fault of a school file: where it is, and a sentence on how to mend it."""

import json
import re
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
