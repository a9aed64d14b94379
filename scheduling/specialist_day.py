"""A specialist's day across classrooms: when they are with a class, free, or owed to two at once.

Pure. Times are minutes since midnight; a stretch holds its start and not its end.
"""

from collections.abc import Iterable
from typing import NamedTuple

Span = tuple[int, int]


class Stretch(NamedTuple):
    """Time with one class; `place` tells the class from others."""

    start: int
    end: int
    place: int


class Clash(NamedTuple):
    """Time that several classes have at once: all of them for all of it."""

    start: int
    end: int
    places: frozenset[int]


def joined(spans: Iterable[Span]) -> list[Span]:
    """The spans as one after the other, in order: what overlaps or touches is one span."""
    found: list[Span] = []
    for start, end in sorted(spans):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return found


def lasting(spans: Iterable[Span]) -> int:
    """How many minutes the spans take in all; a minute that several take counts once."""
    return sum(end - start for start, end in joined(spans))


def free_between(spans: Iterable[Span], within: Span) -> list[Span]:
    """What the spans leave free of a stretch of the day, in order."""
    found: list[Span] = []
    at, last = within
    for start, end in joined(spans):
        if at < min(start, last):
            found.append((at, min(start, last)))
        at = max(at, end)
    return [*found, (at, last)] if at < last else found


def clashes(stretches: Iterable[Stretch]) -> list[Clash]:
    """Every time that two or more classes have at once, in order, as long as it is the same ones."""
    held = list(stretches)
    edges = sorted({edge for stretch in held for edge in (stretch.start, stretch.end)})
    found: list[Clash] = []
    for start, end in zip(edges, edges[1:], strict=False):
        places = frozenset(stretch.place for stretch in held if stretch.start <= start and end <= stretch.end)
        if len(places) < 2:
            continue
        if found and found[-1].end == start and found[-1].places == places:
            found[-1] = Clash(found[-1].start, end, places)
        else:
            found.append(Clash(start, end, places))
    return found
