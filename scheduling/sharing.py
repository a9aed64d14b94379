"""Rooms, carts and people that classes share: where more is wanted at once than there is, and when some is left.

Pure. Times are minutes since midnight; a use holds its start and not its end. A resource has a
capacity: how many classes can have it at the same time.
"""

from collections.abc import Iterable
from typing import NamedTuple

from scheduling.specialist_day import Span, free_between


class Use(NamedTuple):
    """Time for which a block of a classroom wants some of a resource."""

    start: int
    end: int
    amount: int
    place: int
    block: int


class Clash(NamedTuple):
    """Time for which more is wanted than there is: `wanted` in all, by these uses for all of it."""

    start: int
    end: int
    wanted: int
    uses: tuple[Use, ...]


class Level(NamedTuple):
    """Time for which the same uses go on."""

    start: int
    end: int
    uses: tuple[Use, ...]

    @property
    def wanted(self) -> int:
        return sum(use.amount for use in self.uses)


def levels(uses: Iterable[Use]) -> list[Level]:
    """The time that uses take, cut wherever one begins or ends, in order."""
    held = sorted(set(uses))
    edges = sorted({edge for use in held for edge in (use.start, use.end)})
    found = []
    for start, end in zip(edges, edges[1:], strict=False):
        going = tuple(use for use in held if use.start <= start and end <= use.end)
        if going:
            found.append(Level(start, end, going))
    return found


def clashes(uses: Iterable[Use], capacity: int) -> list[Clash]:
    """Every time that is wanted more than the capacity, in order, as long as it is by the same uses."""
    over = (level for level in levels(uses) if level.wanted > capacity)
    return [Clash(level.start, level.end, level.wanted, level.uses) for level in over]


def left_over(uses: Iterable[Use], capacity: int, within: Span, amount: int = 1) -> list[Span]:
    """When at least `amount` of the capacity is left within a stretch of the day, in order."""
    full = [(level.start, level.end) for level in levels(uses) if level.wanted + amount > capacity]
    return free_between(full, within) if amount <= capacity else []
