"""What a fitting is asked: days with their free time, the blocks of a source week, and what rules demand.

Times are minutes since midnight on a grid of five. Days are numbered as they stand in the problem.
"""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal, NamedTuple

from scheduling.minutes.plan import Credit
from scheduling.minutes.rules import Figure, TestKind

GRAIN = 5
SHORTEST = 10
"""Minutes that a block is never shorter than, unless its source is."""


class Free(NamedTuple):
    """A stretch of a day that blocks may lie in."""

    start: int
    end: int


class Place(NamedTuple):
    """Where an item is to stand."""

    day: int
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Day:
    """One column of a target week: its place (cycle day or none, day kind) and its free time in order.

    `room` tells the classrooms of a team apart where several weeks are fitted together.
    """

    day: str
    kind: str
    free: tuple[Free, ...]
    room: str = ""


@dataclass(frozen=True, slots=True)
class Item:
    """A block of the source week, in the day it belongs to. `least` is the shortest it may become.

    `credits` are kept whole, so an integrated block is never shorter than their sum.
    """

    key: Hashable
    day: int
    start: int
    end: int
    activity: str
    least: int
    credits: tuple[Credit, ...] = ()
    added: bool = False
    """Not in the source: a block that may be made on its day if it helps, and is not missed if it is not."""

    @property
    def place(self) -> Place:
        """Where it stands in the source."""
        return Place(self.day, self.start, self.end)

    @property
    def length(self) -> int:
        return self.end - self.start


@dataclass(frozen=True, slots=True)
class Need:
    """One window's demand: how often each day counts in it, what it asks, and what is there anyhow.

    `fixed` are minutes (times their days) that no block gives: the school's fixed stretches. For
    `share`, `fixed` is the pool's and `fixed_base` the base's; for `days_met` it is in days, for `unbroken`
    the longest there is.
    """

    days: Mapping[int, int]
    required: Figure
    fixed: int = 0
    fixed_base: int = 0
    divisor: Figure = 1
    given: Mapping[int, int] = field(default_factory=dict)
    """Minutes of the pool that a day has without any block, by the day: what `days_met` adds to the blocks'."""
    caps: Mapping[str, Fraction] = field(default_factory=dict)
    """The most an activity counts in the window: the tightest of its caps per week, per year and by share."""


Windows = Literal["usual", "unusual", "odd"]
"""Which of a part's windows: those of the usual days, those with a day of another kind that has a column of its own,
or those with a day that shows its column other than it is."""


@dataclass(frozen=True, slots=True)
class Demand:
    """One part of a rule over the windows it is judged in. Several windows: the worst counts.

    `rule` and `part` say whose it is; `counts` holds the activities of its pool, `base` those of a
    share's base. `minutes` is from where a day counts as met, `sitting` from how long a block counts.
    """

    rule: str
    part: int
    test: TestKind
    counts: frozenset[str]
    needs: tuple[Need, ...]
    base: frozenset[str] = frozenset()
    minutes: int = 1
    sitting: int = 0
    sitting_caps: Mapping[str, int] = field(default_factory=dict)
    day_caps: Mapping[str, int] = field(default_factory=dict)
    windows: Windows = "usual"

    @property
    def is_advice(self) -> bool:
        return self.test == "recommended"


@dataclass(frozen=True, slots=True)
class Choice:
    """A rule any one of whose parts is enough: the demands of each, by their place among all."""

    alternatives: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Wishes:
    """What somebody would like, after the rules: by activity the minute of the day by which its blocks end,
    and the most minutes of it in one free stretch of a day, so that it never lasts longer at a stretch."""

    ends_by: Mapping[str, int] = field(default_factory=dict)
    at_a_stretch: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Taken:
    """A stretch in which a shared resource is wanted by others already: how much of it."""

    day: int
    start: int
    end: int
    amount: int


@dataclass(frozen=True, slots=True)
class Shared:
    """A shared resource: how much of it there is, who wants it already, and which items need how much."""

    key: str
    capacity: int
    taken: tuple[Taken, ...]
    needed: Mapping[int, int]
    """Amounts by the item's place in the problem."""


@dataclass(frozen=True)
class Problem:
    """A week to be fitted, or those of several classrooms together. Items of one day stand in their order.

    `held` are items, by their place here, that must stand somewhere, or with None must be left out,
    at all costs; a place is on the grid.
    """

    days: tuple[Day, ...]
    items: tuple[Item, ...]
    demands: tuple[Demand, ...] = ()
    choices: tuple[Choice, ...] = ()
    shared: tuple[Shared, ...] = ()
    held: Mapping[int, Place | None] = field(default_factory=dict)
    wishes: Wishes = Wishes()  # noqa: RUF009 - frozen, so one is as good as another
