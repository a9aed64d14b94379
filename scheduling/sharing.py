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


class Left(NamedTuple):
    """Time for which so much of a resource is left."""

    start: int
    end: int
    amount: int


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


def remaining(uses: Iterable[Use], capacity: int, within: Span) -> list[Left]:
    """What is left of the capacity within a stretch of the day, in order; times with nothing left are left out."""
    first, last = within
    going = levels(uses)
    cut = [Left(max(at.start, first), min(at.end, last), capacity - at.wanted) for at in going]
    cut += [Left(start, end, capacity) for start, end in free_between(((at.start, at.end) for at in going), within)]
    found: list[Left] = []
    for left in sorted(one for one in cut if one.start < one.end and one.amount > 0):
        if found and found[-1].end == left.start and found[-1].amount == left.amount:
            found[-1] = Left(found[-1].start, left.end, left.amount)
        else:
            found.append(left)
    return found
