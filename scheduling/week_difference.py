"""Two weeks block by block: what is the same, moved, of another length, another activity, or in one only. Pure.

A day is any name for a column; blocks are told by what they hold, not by their ids, so that weeks of
different classrooms compare too.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True, order=True)
class Placed:
    """A block of a day: minutes since midnight, the activity, the minutes it credits and how much it needs of what
    classes share, by key, and the reason why it sits there."""

    day: str
    start: int
    end: int
    activity: str
    credits: tuple[tuple[str, int], ...] = ()
    needs: tuple[tuple[str, int], ...] = ()
    why: str = ""

    @property
    def minutes(self) -> int:
        return self.end - self.start


@dataclass(frozen=True, slots=True)
class Pair:
    """A block of one week beside its counterpart in the other; None where there is none."""

    here: Placed | None
    there: Placed | None

    @property
    def differs(self) -> bool:
        return self.here != self.there

    @property
    def differs_in_reason_alone(self) -> bool:
        """Two people seldom give one reason in the same words, so this tells less than any other difference."""
        if self.here is None or self.there is None or not self.differs:
            return False
        return replace(self.here, why="") == replace(self.there, why="")

    @property
    def day(self) -> str:
        return (self.here or self.there or NOWHERE).day

    @property
    def start(self) -> int:
        return min(one.start for one in (self.here, self.there) if one is not None)

    @property
    def longer(self) -> int:
        """Minutes that it is longer there; less than nothing if shorter."""
        return 0 if self.here is None or self.there is None else self.there.minutes - self.here.minutes


NOWHERE = Placed("", 0, 0, "")


def pairs_of(here: Sequence[Placed], there: Sequence[Placed]) -> list[Pair]:
    """All blocks of two weeks, each once, by day and start.

    Within a day equal blocks meet first, then those of one activity, the nearest first, then
    different activities that begin at the same time; what is left stands alone.
    """
    left, right = sorted(here), sorted(there)
    pairs: list[Pair] = []
    for distance in (_equal, _same_activity, _same_start):
        near = [
            (apart, i, j)
            for i, one in enumerate(left)
            for j, other in enumerate(right)
            if one.day == other.day and (apart := distance(one, other)) is not None
        ]
        taken: tuple[set[int], set[int]] = (set(), set())
        for _, i, j in sorted(near):
            if i not in taken[0] and j not in taken[1]:
                taken[0].add(i)
                taken[1].add(j)
                pairs.append(Pair(left[i], right[j]))
        left = [one for i, one in enumerate(left) if i not in taken[0]]
        right = [one for j, one in enumerate(right) if j not in taken[1]]
    pairs += [Pair(one, None) for one in left] + [Pair(None, one) for one in right]
    return sorted(pairs, key=lambda pair: (pair.day, pair.start, pair.here is None))


def difference(here: Sequence[Placed], there: Sequence[Placed]) -> list[Pair]:
    """Only what differs."""
    return [pair for pair in pairs_of(here, there) if pair.differs]


def applied(difference: Sequence[Pair], here: Sequence[Placed]) -> list[Placed]:
    """The other week: this one with what differs taken out and put in."""
    result = list(here)
    for pair in difference:
        if pair.here is not None:
            result.remove(pair.here)
    result += [pair.there for pair in difference if pair.there is not None]
    return sorted(result)


def _equal(one: Placed, other: Placed) -> int | None:
    return 0 if one == other else None


def _same_activity(one: Placed, other: Placed) -> int | None:
    return abs(one.start - other.start) + abs(one.end - other.end) if one.activity == other.activity else None


def _same_start(one: Placed, other: Placed) -> int | None:
    return abs(one.end - other.end) if one.start == other.start else None
