"""One day laid out: the column in effect, clipped, with fixed stretches, cut by day changes.

The order is: clip the plain column on another kind of day; fixed stretches lose what the clipped
blocks cover; day changes cut both. What is left of a block are its pieces.
"""

from collections.abc import Iterable, Mapping
from operator import itemgetter
from typing import NamedTuple, cast

from scheduling.minutes.plan import Bell, Block, Column, Credit, DayChange, FixedStretch
from teamroom.dates.calendar_maths import REGULAR

Span = tuple[int, int]


class Piece(NamedTuple):
    """A stretch of the day as it counts: what it credits and where it comes from.

    A day change's piece is `alone`: it joins no neighbour and touches none.
    """

    start: int
    end: int
    credits: tuple[Credit, ...]
    origin: Block | FixedStretch | DayChange
    alone: bool = False


class ColumnChoice(NamedTuple):
    """The column used on a kind of day. `plain` means a regular column serves another kind."""

    blocks: tuple[Block, ...]
    plain: bool


Columns = Mapping[tuple[str | None, str], tuple[Block, ...]]
"""A version's columns by day and kind."""


def by_place(columns: Iterable[Column]) -> Columns:
    return {(column.day, column.kind): column.blocks for column in columns}


def choose_column(columns: Columns, cycle_day: str, kind: str) -> ColumnChoice:
    """The (cycle day, kind) column, else the kind's own, else the cycle day's regular one."""
    for place in ((cycle_day, kind), (None, kind)):
        if place in columns:
            return ColumnChoice(columns[place], plain=False)
    return ColumnChoice(columns.get((cycle_day, REGULAR), ()), plain=kind != REGULAR)


def lay_out(
    columns: Columns | None,
    bells: Mapping[str, Bell],
    changes: Iterable[DayChange],
    *,
    cycle_day: str,
    kind: str,
) -> tuple[Piece, ...]:
    """The day's pieces in order of time; without columns (no version) only day changes credit."""
    cuts = [(change.start, change.end) for change in changes]
    pieces: list[Piece] = []
    if columns is not None:
        choice = choose_column(columns, cycle_day, kind)
        own_bell = bells.get(kind)
        placed = _clipped(choice.blocks, own_bell if choice.plain else None)
        pieces = _cut(placed, cuts) if cuts else placed
        bell = own_bell or (bells.get(REGULAR) if choice.plain else None)
        if bell is not None and bell.fixed:
            taken = [(piece.start, piece.end) for piece in placed] + cuts
            pieces = pieces + [
                Piece(start, end, (Credit(fixed.activity, end - start),), fixed)
                for fixed in bell.fixed
                if fixed.days is None or cycle_day in fixed.days
                for start, end in without((fixed.start, fixed.end), taken)
            ]
    pieces += [Piece(change.start, change.end, change.credits, change, alone=True) for change in changes]
    pieces.sort(key=itemgetter(0))
    return tuple(pieces)


def _whole(block: Block) -> Piece:
    return Piece(block.start, block.end, block.credits or (Credit(block.activity, block.end - block.start),), block)


def _part(block: Block, start: int, end: int) -> Piece:
    return Piece(start, end, piece_credits(block, end - start), block)


def _clipped(blocks: Iterable[Block], bell: Bell | None) -> list[Piece]:
    """The blocks' pieces, clipped to a bell's start and dismissal where one is given."""
    if bell is None:
        return [_whole(block) for block in blocks]
    start, dismissal = bell.start, bell.dismissal
    return [
        _whole(block)
        if start <= block.start and block.end <= dismissal
        else _part(block, max(block.start, start), min(block.end, dismissal))
        for block in blocks
        if block.start < dismissal and block.end > start
    ]


def _cut(placed: Iterable[Piece], cuts: list[Span]) -> list[Piece]:
    """Blocks' pieces with spans taken out of them; what is left is reckoned from the whole block."""
    return [
        piece if (start, end) == (piece.start, piece.end) else _part(cast(Block, piece.origin), start, end)
        for piece in placed
        for start, end in without((piece.start, piece.end), cuts)
    ]


def without(span: Span, taken: Iterable[Span]) -> list[Span]:
    """What is left of a span when other spans are taken out of it, in order of time."""
    left = [span]
    for start, end in taken:
        if start >= span[1] or end <= span[0]:
            continue
        left = [
            part for low, high in left for part in ((low, min(high, start)), (max(low, end), high)) if part[0] < part[1]
        ]
    return left


def piece_credits(block: Block, length: int) -> tuple[Credit, ...]:
    """What a piece of `length` minutes credits of its block, always reckoned from the whole block.

    A piece of p minutes of n shares out floor(sum of credits x p / n) by largest remainder, ties
    in the order listed.
    """
    if not block.credits:
        return (Credit(block.activity, length),)
    if length == block.length:
        return block.credits
    total = sum(credit.minutes for credit in block.credits)
    to_share = total * length // block.length
    floors = [to_share * credit.minutes // total for credit in block.credits]
    remainders = [to_share * credit.minutes % total for credit in block.credits]
    order = sorted(range(len(floors)), key=lambda n: -remainders[n])
    for n in order[: to_share - sum(floors)]:
        floors[n] += 1
    return tuple(
        Credit(credit.activity, minutes) for credit, minutes in zip(block.credits, floors, strict=True) if minutes
    )
