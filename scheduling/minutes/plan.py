"""What the counting of minutes works from, as plain immutable values.

Times are whole minutes since midnight; a span holds its start and not its end. Activities, day
kinds and cycle days are the school's own keys.
"""

import datetime as dt
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple


class Credit(NamedTuple):
    """Minutes credited to one activity: one or more, as no credit is no credit at all."""

    activity: str
    minutes: int


@dataclass(frozen=True, slots=True)
class Block:
    """A stretch of a day. `credits` is empty for a plain block, which credits its whole length."""

    start: int
    end: int
    activity: str
    credits: tuple[Credit, ...] = ()
    key: Hashable = field(default=None, compare=False)

    @property
    def length(self) -> int:
        return self.end - self.start

    @property
    def shares(self) -> tuple[Credit, ...]:
        """What the whole block credits, in the order listed."""
        return self.credits or (Credit(self.activity, self.length),)


@dataclass(frozen=True, slots=True)
class Column:
    """A day's blocks. Without a kind it is a regular one; without a day, the kind's own."""

    day: str | None
    kind: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Version:
    """A classroom's week as in effect from a date until the next version."""

    starts: dt.date
    columns: tuple[Column, ...]


@dataclass(frozen=True, slots=True)
class FixedStretch:
    """Time the school fixes in every column of a grade and kind; `days` None means every day."""

    start: int
    end: int
    activity: str
    days: frozenset[str] | None = None


@dataclass(frozen=True, slots=True)
class Bell:
    """The bell schedule of one grade and day kind."""

    start: int
    dismissal: int
    fixed: tuple[FixedStretch, ...] = ()


@dataclass(frozen=True, slots=True)
class DayChange:
    """What happens on one date: it closes the day, or takes [start, end) and may credit minutes."""

    date: dt.date
    name: str
    closed: bool = False
    start: int = 0
    end: int = 0
    credits: tuple[Credit, ...] = ()


@dataclass(frozen=True, slots=True)
class ClassroomPlan:
    """All that decides one classroom's minutes: `bells` by day kind, of its first grade."""

    grades: tuple[str, ...]
    versions: tuple[Version, ...] = ()
    bells: Mapping[str, Bell] = field(default_factory=dict)
    changes: tuple[DayChange, ...] = ()
