"""What a minutes rule can say: a pool of activities, a test, a window, and what counts.

A rule is one part, or `all` or `any` of several; a part makes exactly one test.
"""

import datetime as dt
from dataclasses import dataclass, fields, is_dataclass
from fractions import Fraction
from functools import cached_property, lru_cache
from typing import Literal

Figure = int | Fraction
TestKind = Literal["at_least", "at_most", "recommended", "unbroken", "share", "days_met"]
TEST_KINDS: tuple[TestKind, ...] = (
    "at_least",
    "at_most",
    "recommended",
    "unbroken",
    "share",
    "days_met",
)
WindowKind = Literal["day", "week", "run", "month", "year"]
WINDOW_KINDS: tuple[WindowKind, ...] = ("day", "week", "run", "month", "year")
MeanPer = Literal["day", "week"]
CapPer = Literal["sitting", "day", "week", "year"]
ShortWindow = Literal["full", "prorate", "skip"]
Status = Literal["met", "short", "over", "below advice", "not checkable"]
DAYS_IN_A_WEEK = 5


@dataclass(frozen=True, slots=True)
class Pool:
    """A set of activities, or everything except a set."""

    activities: frozenset[str]
    except_: bool = False

    def __contains__(self, activity: str) -> bool:
        return (activity in self.activities) is not self.except_


@dataclass(frozen=True, slots=True)
class RuleTest:
    """The one question a part asks.

    `figure` is in minutes (days for `days_met`, a fraction of 1 for `share`). `minutes` is from
    how many minutes on a day counts as met; `of` is the pool a share is taken of.
    """

    kind: TestKind
    figure: Figure
    minutes: int = 1
    of: Pool | None = None

    @property
    def failing(self) -> Status:
        """What a window is called whose margin is negative."""
        if self.kind == "at_most":
            return "over"
        return "below advice" if self.kind == "recommended" else "short"


@dataclass(frozen=True, slots=True)
class Cap:
    """An activity counts only up to `at_most` minutes per `per`."""

    activity: str
    at_most: int
    per: CapPer


@dataclass(frozen=True, slots=True)
class ShareCap:
    """An activity counts only up to a share of the window's requirement."""

    activity: str
    share: Fraction


@dataclass(frozen=True, slots=True)
class Window:
    """The stretch of the calendar a part is judged over; `run_days` only for runs."""

    kind: WindowKind = "week"
    run_days: int = 0
    rolling: bool = False


@dataclass(frozen=True)
class Part:
    """One test over one pool and one window. `not_beside` holds (activity, beside) pairs."""

    pool: Pool
    test: RuleTest
    window: Window = Window()
    mean: MeanPer | None = None
    sitting: int = 0
    caps: tuple[Cap, ...] = ()
    share_caps: tuple[ShareCap, ...] = ()
    not_beside: tuple[tuple[str, str], ...] = ()
    day_kinds: frozenset[str] | None = None
    short_window: ShortWindow | None = None

    @property
    def short_policy(self) -> ShortWindow:
        """How a short window is treated, which no day and no year is; by default weeks are prorated,
        runs and months skipped."""
        return self.short_window or ("prorate" if self.window.kind == "week" else "skip")

    @cached_property
    def needs_stretches(self) -> bool:
        """Whether neighbours matter, so that a sum by activity is not enough."""
        return bool(self.sitting or self.not_beside or self.test.kind == "unbroken" or self.sitting_caps)

    @cached_property
    def window_capped(self) -> tuple[str, ...]:
        """Activities limited over more than one day, each once, in the order of their caps."""
        if self.test.kind == "days_met":
            return ()
        names = [cap.activity for cap in self.caps if cap.per in ("week", "year")]
        names += [cap.activity for cap in self.share_caps]
        return tuple(name for name in dict.fromkeys(names) if name in self.pool)

    @cached_property
    def sitting_caps(self) -> dict[str, int]:
        return self._tightest("sitting")

    @cached_property
    def day_caps(self) -> dict[str, int]:
        return self._tightest("day")

    @cached_property
    def week_caps(self) -> dict[str, int]:
        return self._tightest("week")

    @cached_property
    def year_caps(self) -> dict[str, int]:
        return self._tightest("year")

    def _tightest(self, per: CapPer) -> dict[str, int]:
        """The tightest cap of each activity for one period."""
        tightest: dict[str, int] = {}
        for cap in self.caps:
            if cap.per == per:
                tightest[cap.activity] = min(cap.at_most, tightest.get(cap.activity, cap.at_most))
        return tightest


@dataclass(frozen=True, slots=True)
class Rule:
    """A minutes requirement for some grades. Not checkable rules have a reason and no parts."""

    key: str
    grades: frozenset[str]
    parts: tuple[Part, ...] = ()
    any_of: bool = False
    effective_from: dt.date | None = None
    effective_to: dt.date | None = None
    not_checkable: str = ""

    def in_force(self, date: dt.date) -> bool:
        """Whether a window that begins on the date counts; both of the rule's dates included."""
        return (self.effective_from is None or self.effective_from <= date) and (
            self.effective_to is None or date <= self.effective_to
        )


@lru_cache(maxsize=4096)
def spelled(part: Part) -> str:
    """A part as text that is the same in every process, which a set's own text is not."""
    return repr(_ordered(part))


def _ordered(value: object) -> object:
    if isinstance(value, frozenset):
        return sorted(value)
    if isinstance(value, tuple):
        return tuple(_ordered(item) for item in value)
    if is_dataclass(value):
        return [(field.name, _ordered(getattr(value, field.name))) for field in fields(value)]
    return value
