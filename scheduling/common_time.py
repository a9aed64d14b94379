"""When all classes of a team are with somebody else at once, so that their teachers can plan together.

Pure. Times are minutes since midnight; a span holds its start and not its end. A classroom is told
from others by any number.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from itertools import combinations
from typing import NamedTuple

from scheduling.specialist_day import Span, free_between, joined, lasting

SHORTEST = 15
"""Minutes of the shortest time worth meeting in, unless somebody says otherwise (common practice, no source)."""

Freed = Mapping[int, Iterable[Span]]
"""By classroom, when its teachers do not have it on one day."""
Pair = tuple[int, int]


class Nearly(NamedTuple):
    """Time when all are free but one classroom, which has its teachers for some of it or for all."""

    start: int
    end: int
    place: int
    in_the_way: tuple[Span, ...]


def common_time(freed: Freed, shortest: int = SHORTEST) -> list[Span]:
    """Every time of a day when all are free, as long as it goes on, none shorter than `shortest` minutes."""
    if not freed:
        return []
    first, *others = freed.values()
    both = joined(first)
    for spans in others:
        both = shared_by_two(both, spans)
    return [(start, end) for start, end in both if end - start >= shortest]


def shared_by_two(spans: Iterable[Span], others: Iterable[Span]) -> list[Span]:
    """What is in some spans and in some others too, in order."""
    rest = joined(others)
    found = [(max(a, c), min(b, d)) for a, b in joined(spans) for c, d in rest]
    return joined((start, end) for start, end in found if start < end)


def nearly_common(freed: Freed, shortest: int = SHORTEST) -> list[Nearly]:
    """Where one classroom alone stands in the way of `shortest` minutes or more that all could have.

    Each is the whole time that the others share. Whatever of it all have already, as common time that
    is long enough, does not count as won.
    """
    have = common_time(freed, shortest)
    found = []
    for place, spans in freed.items():
        others = {room: held for room, held in freed.items() if room != place}
        for start, end in common_time(others, shortest):
            taken = tuple(free_between(spans, (start, end)))
            if end - start - lasting(shared_by_two(have, [(start, end)])) >= shortest:
                found.append(Nearly(start, end, place, taken))
    return sorted(found)


def minutes_together(days: Iterable[Freed], shortest: int = SHORTEST) -> dict[Pair, int]:
    """By each pair of classrooms how many minutes they are free together on some days, stretches shorter than
    `shortest` not counted."""
    found: Counter[Pair] = Counter()
    for freed in days:
        for one, other in combinations(sorted(freed), 2):
            both = common_time({one: freed[one], other: freed[other]}, shortest)
            found[one, other] += lasting(both)
    return dict(found)


def longest_together(minutes: Mapping[Pair, int]) -> list[Pair]:
    """The pairs with the most minutes; none where nobody has any."""
    most = max(minutes.values(), default=0)
    return sorted(pair for pair, told in minutes.items() if told == most and most > 0)
