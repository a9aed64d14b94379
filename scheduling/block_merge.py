"""Two people's changes of one block, part by part. Pure: no Django, no database.

A block is a snapshot as the history keeps it. Each part of it (its day, its times, ...) is settled
by itself: what only one of the two changed keeps that change, what both changed differently is in
question.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

Snapshot = Mapping[str, Any]
Side = Literal["mine", "theirs"]
PARTS: Mapping[str, tuple[str, ...]] = {
    "place": ("day", "kind"),
    # Together, as one's start with another's end may be no time at all.
    "times": ("start", "end"),
    "activity": ("activity",),
    "credits": ("credits",),
    "why": ("why",),
    "uses": ("uses",),
}
NONE: Mapping[str, Any] = {"credits": [], "uses": [], "why": ""}


@dataclass(frozen=True)
class PartMerge:
    """One part: as it was when both began (None if that is not known), as one left it, as the other wants it."""

    name: str
    base: tuple[Any, ...] | None
    theirs: tuple[Any, ...]
    mine: tuple[Any, ...]

    @property
    def agreed(self) -> bool:
        return self.theirs == self.mine

    @property
    def side(self) -> Side | None:
        """Whose it is to be; None while that is in question."""
        if self.agreed or self.mine == self.base:
            return "theirs"
        return "mine" if self.theirs == self.base else None


def merges(base: Snapshot | None, theirs: Snapshot, mine: Snapshot) -> tuple[PartMerge, ...]:
    """Every part of a block, settled or in question."""
    return tuple(
        PartMerge(name, None if base is None else _part(base, keys), _part(theirs, keys), _part(mine, keys))
        for name, keys in PARTS.items()
    )


def settled(theirs: Snapshot, mine: Snapshot, sides: Mapping[str, Side]) -> dict[str, Any]:
    """The block with each part of one side; a part that no side is named for stays theirs."""
    block = dict(theirs)
    for name, keys in PARTS.items():
        if sides.get(name) == "mine":
            block |= {key: mine.get(key, NONE.get(key)) for key in keys}
    return {key: value for key, value in block.items() if key != "uses" or value}


def _part(block: Snapshot, keys: tuple[str, ...]) -> tuple[Any, ...]:
    return tuple(block.get(key, NONE.get(key)) for key in keys)
