"""A school year as the counting sees it: like days and like windows, each looked at once.

Days of a classroom are alike when the same version, cycle day, day kind and day changes govern
them; windows are alike when they hold equally many days of each sort. A rule is then worked out
once for each sort of day and each sort of window, however long the year is.
"""

import datetime as dt
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from hashlib import blake2b
from itertools import groupby
from typing import NamedTuple

from scheduling.minutes.plan import ClassroomPlan, DayChange
from scheduling.minutes.rules import DAYS_IN_A_WEEK, Part, Window
from teamroom.dates.calendar_maths import SchoolDay, monday_of

Bag = tuple[tuple[int, int], ...]
"""How many days of each sort: (sort, count) pairs."""
Stretch = tuple[int, int]
"""Places of a window's first and last school day."""

MOST_SHAPES = 256


class DaySort(NamedTuple):
    """What makes days alike. `version` is -1 before the first; `changed` a date of its own."""

    version: int
    cycle_day: str
    kind: str
    changed: dt.date | None


@dataclass(frozen=True, slots=True)
class LikeWindows:
    """Windows that come out the same: what they hold, and where each begins and ends.

    `bag` holds the days that count; `weeks` holds them by calendar week where caps per week ask
    for it, else all in one; `school_days` counts all school days, `counting_days` those of the
    part's day kinds.
    """

    bag: Bag
    weeks: tuple[Bag, ...]
    school_days: int
    counting_days: int
    short: bool
    stretches: tuple[Stretch, ...]


class WindowSpec(NamedTuple):
    """What decides the windows of a part, the rule's dates aside."""

    window: Window
    day_kinds: frozenset[str] | None
    by_week: bool


def window_spec(part: Part) -> WindowSpec:
    by_week = part.window.kind in ("run", "month", "year") and any(cap.per == "week" for cap in part.caps)
    return WindowSpec(part.window, part.day_kinds, by_week)


@dataclass(frozen=True)
class Shape:
    """A classroom's school days with their sorts. Classrooms whose years have the same shape
    share one, so that windows are gathered once for all of them."""

    days: tuple[SchoolDay, ...]
    sorts: tuple[DaySort, ...]
    sort_of: tuple[int, ...]
    first_day: dt.date
    last_day: dt.date
    _like: dict[WindowSpec, tuple[LikeWindows, ...]] = field(default_factory=dict, compare=False)
    asked: dict[tuple[object, ...], tuple[object, object]] = field(default_factory=dict, compare=False)
    """Kept by `measure.asked_windows`."""

    @cached_property
    def fingerprint(self) -> str:
        """The school days and which of them are alike, in short."""
        told = repr((self.days, self.sort_of, self.first_day, self.last_day))
        return blake2b(told.encode(), digest_size=16).hexdigest()

    def like_windows(self, part: Part) -> tuple[LikeWindows, ...]:
        """The part's windows, alike ones together, those without a day that counts left out."""
        spec = window_spec(part)
        found = self._like.get(spec)
        if found is None:
            found = self._like[spec] = tuple(self._gathered(spec))
        return found

    def one_window(self, part: Part, stretch: Stretch) -> LikeWindows:
        """A single stretch of school days as a window of its own."""
        spec = window_spec(part)
        return self._held(spec, self._counting(spec.day_kinds), (stretch,), short=False)

    def window_at(self, part: Part, stretch: Stretch) -> LikeWindows:
        """One of the part's windows by its stretch, short if it is; a stretch that is none of
        them is a window of its own."""
        for like in self.like_windows(part):
            if stretch in like.stretches:
                return replace(like, stretches=(stretch,))
        return self.one_window(part, stretch)

    def days_before(self, date: dt.date) -> int:
        """How many school days lie strictly before a date."""
        return bisect_left(self.days, date, key=lambda day: day.date)

    def _counting(self, kinds: frozenset[str] | None) -> frozenset[int] | None:
        if kinds is None:
            return None
        return frozenset(n for n, sort in enumerate(self.sorts) if sort.kind in kinds)

    def _weeks(self, stretch: Stretch, counting: frozenset[int] | None) -> tuple[Bag, ...]:
        places = range(stretch[0], stretch[1] + 1)
        return tuple(
            _bag([self.sort_of[n] for n in week], counting)
            for _, week in groupby(places, key=lambda n: monday_of(self.days[n].date))
        )

    def _gathered(self, spec: WindowSpec) -> Iterable[LikeWindows]:
        counting = self._counting(spec.day_kinds)
        alike: dict[tuple[object, int, bool], list[Stretch]] = {}
        sort_of = self.sort_of
        for stretch, short in self._stretches(spec.window):
            first, last = stretch
            held: object = tuple(sorted(sort_of[first : last + 1]))
            if spec.by_week:
                held = self._weeks(stretch, counting)
            alike.setdefault((held, last - first, short), []).append(stretch)
        for (_, _, short), stretches in alike.items():
            windows = self._held(spec, counting, tuple(stretches), short=short)
            if windows.counting_days:
                yield windows

    def _held(
        self, spec: WindowSpec, counting: frozenset[int] | None, stretches: tuple[Stretch, ...], *, short: bool
    ) -> LikeWindows:
        """Like windows with what the first of them holds."""
        first, last = stretches[0]
        bag = _bag(self.sort_of[first : last + 1], counting)
        weeks = self._weeks(stretches[0], counting) if spec.by_week else (bag,)
        return LikeWindows(bag, weeks, last - first + 1, sum(n for _, n in bag), short, stretches)

    def _stretches(self, window: Window) -> Iterable[tuple[Stretch, bool]]:
        """Every window of a kind with whether it is a short one, in order of time."""
        count = len(self.days)
        if not count:
            return []
        if window.kind == "day":
            return [((n, n), False) for n in range(count)]
        if window.kind == "week":
            weeks = self._by(lambda date: monday_of(date))
            return [(w, w[1] - w[0] + 1 < DAYS_IN_A_WEEK) for w in weeks]
        if window.kind == "month":
            return [(m, self._cut_month(m)) for m in self._by(lambda d: (d.year, d.month))]
        if window.kind == "year":
            return [((0, count - 1), False)]
        return self._runs(window, count)

    @staticmethod
    def _runs(window: Window, count: int) -> Iterable[tuple[Stretch, bool]]:
        size = window.run_days
        if count < size:
            return [((0, count - 1), True)]
        if window.rolling:
            return [((n, n + size - 1), False) for n in range(count - size + 1)]
        return [((n, min(n + size, count) - 1), n + size > count) for n in range(0, count, size)]

    def _by(self, key: Callable[[dt.date], object]) -> Iterable[Stretch]:
        for _, places in groupby(range(len(self.days)), key=lambda n: key(self.days[n].date)):
            held = list(places)
            yield held[0], held[-1]

    def _cut_month(self, stretch: Stretch) -> bool:
        """Whether the calendar month of a stretch is not wholly inside the year."""
        first = self.days[stretch[0]].date.replace(day=1)
        following = (first + dt.timedelta(days=31)).replace(day=1)
        return first < self.first_day or following - dt.timedelta(days=1) > self.last_day


def _bag(sorts: Sequence[int], counting: frozenset[int] | None) -> Bag:
    counts = Counter(sorts)
    return tuple(sorted((s, n) for s, n in counts.items() if counting is None or s in counting))


class Year:
    """A school's year: its school days, and the shapes classrooms give it."""

    def __init__(self, days: Sequence[SchoolDay], *, first_day: dt.date, last_day: dt.date) -> None:
        self.days = tuple(days)
        self.first_day = first_day
        self.last_day = last_day
        self._dates = frozenset(day.date for day in days)
        self._shapes: dict[tuple[object, ...], Shape] = {}

    def is_school_day(self, date: dt.date) -> bool:
        return date in self._dates

    def shape(self, plan: ClassroomPlan) -> Shape:
        """The classroom's school days and their sorts: a day closed by a day change is none."""
        closed = frozenset(change.date for change in plan.changes if change.closed)
        changed = frozenset(change.date for change in plan.changes if not change.closed)
        starts = tuple(sorted(version.starts for version in plan.versions))
        key = (closed, changed, starts)
        shape = self._shapes.get(key)
        if shape is None:
            if len(self._shapes) >= MOST_SHAPES:
                self._shapes.clear()
            shape = self._shapes[key] = self._shaped(closed, changed, starts)
        return shape

    def _shaped(self, closed: frozenset[dt.date], changed: frozenset[dt.date], starts: tuple[dt.date, ...]) -> Shape:
        days = tuple(day for day in self.days if day.date not in closed)
        places: dict[DaySort, int] = {}
        sort_of = tuple(
            places.setdefault(
                DaySort(
                    bisect_right(starts, day.date) - 1,
                    day.cycle_day,
                    day.kind,
                    day.date if day.date in changed else None,
                ),
                len(places),
            )
            for day in days
        )
        return Shape(days, tuple(places), sort_of, self.first_day, self.last_day)


def changes_by_date(plan: ClassroomPlan) -> dict[dt.date, list[DayChange]]:
    """The changes that leave their day open, by date, in order of time."""
    found: dict[dt.date, list[DayChange]] = {}
    for change in sorted(plan.changes, key=lambda change: change.start):
        if not change.closed:
            found.setdefault(change.date, []).append(change)
    return found
