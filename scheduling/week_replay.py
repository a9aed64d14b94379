"""A week out of its records: what it was at any moment. Pure: no Django, no database.

A record is a pair, the blocks an edit took out and those it put in, each a snapshot with the
block's id under `block`. From an empty week, all of them in order give the week.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

Snapshot = dict[str, Any]
State = dict[int, Snapshot]
Record = tuple[Sequence[Snapshot], Sequence[Snapshot]]
ONLY_OF_RECORDS = ("new_column",)
"""What a snapshot says of its edit and not of the block."""


def replayed(records: Iterable[Record], start: Mapping[int, Snapshot] | None = None) -> State:
    """The blocks after some records, by id; `start` is what stood before them, nothing unless given."""
    state: State = dict(start or {})
    for before, after in records:
        for kept in before:
            state.pop(kept["block"], None)
        state |= by_block(after)
    return state


def unwound(records: Sequence[Record], end: Mapping[int, Snapshot]) -> State:
    """What stood before some records, given what stood after them."""
    return replayed([(after, before) for before, after in reversed(records)], end)


def differing(now: Mapping[int, Snapshot], then: Mapping[int, Snapshot]) -> tuple[State, State]:
    """The blocks of `now` that are not so `then`, and those of `then` that are not so `now`."""
    return (
        {block: kept for block, kept in now.items() if then.get(block) != kept},
        {block: kept for block, kept in then.items() if now.get(block) != kept},
    )


def by_block(side: Iterable[Snapshot]) -> State:
    """One side of a record: its blocks as they stood, by id."""
    return {kept["block"]: as_placed(kept) for kept in side}


def as_placed(kept: Snapshot) -> Snapshot:
    """A block of a record as it stood, without what only the record knows."""
    return {name: value for name, value in kept.items() if name not in ONLY_OF_RECORDS}
