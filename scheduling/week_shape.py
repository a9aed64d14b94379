"""The shape of a week: minutes by activity, when in the day each stands, in which order, its longest
stretch, and how often the class changes from one thing to the next. Pure.

It looks at one round of the year's cycle, each day of the kind it usually is, laid out as the counting lays
it out, so fixed stretches such as recess and lunch are in it and nothing that befalls a date is. An activity
stands where time credits it; of an integrated block each activity it credits stands all through the block.
Times are minutes since midnight, minutes exact figures. What is said here of a day's shape is common
practice, no source: no published definition of these figures could be opened.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import NamedTuple

from scheduling.minutes.layout import Columns, lay_out
from scheduling.minutes.plan import Bell, Block, Credit, DayChange
from scheduling.minutes.rules import DAYS_IN_A_WEEK, Figure

MIDDAY = 12 * 60
"""Where a day's morning ends (common practice, no source)."""


class Stretch(NamedTuple):
    """A stretch of a day: what it is called, what it credits, and whether the school fixes it."""

    start: int
    end: int
    activity: str
    credits: tuple[Credit, ...]
    fixed: bool = False


Days = Mapping[str, Sequence[Stretch]]
"""Each day of one round of the cycle, in order, with its stretches in order of time."""


class TimeOfDay(NamedTuple):
    """When an activity stands: its earliest start and latest end of any day, and how much of its minutes, from
    0 to 1, lies before midday. An integrated block's minutes lie evenly over it."""

    first: int
    last: int
    before_midday: Fraction


class Longest(NamedTuple):
    """The minutes of a stretch, the day it is on, and when."""

    minutes: int
    day: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class WeekShape:
    """All figures of a week, by activity but for `changes`, which are by day.

    `minutes` are those of an ordinary week of five days: the mean of the cycle where that has more days or fewer.
    `order` has every activity once, by the mean over its days of when it first begins.
    `longest` is time without a break that credits the activity, blocks that touch joined; its minutes are those
    credited, as a rule of unbroken minutes counts them.
    `changes` are how often a day goes on to something else, for days that hold a block at all: what follows under
    another name is a change, and so is what comes after free time.
    """

    minutes: Mapping[str, Figure]
    when: Mapping[str, TimeOfDay]
    order: tuple[str, ...]
    longest: Mapping[str, Longest]
    changes: Mapping[str, int]

    @property
    def changes_a_day(self) -> Fraction:
        """The mean of the days that hold a block; 0 where none does."""
        return Fraction(sum(self.changes.values()), len(self.changes) or 1)

    @property
    def longest_of_all(self) -> tuple[str, Longest] | None:
        """The activity with the longest stretch, the first of equals by name; None in an empty week."""
        held = sorted(self.longest.items())
        return max(held, key=lambda one: one[1].minutes) if held else None


def days_of(columns: Columns, bells: Mapping[str, Bell], days: Mapping[str, str]) -> dict[str, list[Stretch]]:
    """A week's columns laid out on days of the cycle, each with the key of its kind."""
    return {
        day: [
            Stretch(piece.start, piece.end, piece.origin.activity, piece.credits, not isinstance(piece.origin, Block))
            for piece in lay_out(columns, bells, (), cycle_day=day, kind=kind)
            if not isinstance(piece.origin, DayChange)
        ]
        for day, kind in days.items()
    }


def shape_of(days: Days) -> WeekShape:
    """The shape of one round of the cycle."""
    held: dict[str, list[tuple[str, Stretch, int]]] = defaultdict(list)
    for day, stretches in days.items():
        for stretch in stretches:
            for activity, minutes in stretch.credits:
                held[activity].append((day, stretch, minutes))
    return WeekShape(
        minutes={activity: _a_week(sum(n for *_, n in some), len(days)) for activity, some in held.items()},
        when={activity: _when(some) for activity, some in held.items()},
        order=tuple(sorted(held, key=lambda activity: (_usual_start(held[activity]), activity))),
        longest={activity: max(_joined(some), key=lambda one: one.minutes) for activity, some in held.items()},
        changes={
            day: len(_runs(stretches)) - 1
            for day, stretches in days.items()
            if any(not stretch.fixed for stretch in stretches)
        },
    )


def out_of_order(here: Sequence[str], there: Sequence[str]) -> list[str]:
    """Which activities of both orders have changed places: the fewest that, taken out, leave the rest in one order.

    They are named as they come in the first; an activity of one order alone is in none's way.
    """
    places = {activity: place for place, activity in enumerate(there)}
    shared = [activity for activity in here if activity in places]
    kept = _longest_rising([places[activity] for activity in shared])
    return [activity for activity in shared if places[activity] not in kept]


def _longest_rising(places: Sequence[int]) -> set[int]:
    """The members of a longest rising row among different numbers."""
    lowest: list[int] = []
    before: dict[int, int | None] = {}
    for place in places:
        at = bisect_left(lowest, place)
        before[place] = lowest[at - 1] if at else None
        lowest[at : at + 1] = [place]
    kept: set[int] = set()
    last = lowest[-1] if lowest else None
    while last is not None:
        kept.add(last)
        last = before[last]
    return kept


def _a_week(minutes: int, days: int) -> Figure:
    figure = Fraction(minutes * DAYS_IN_A_WEEK, days)
    return figure.numerator if figure.denominator == 1 else figure


def _when(held: Iterable[tuple[str, Stretch, int]]) -> TimeOfDay:
    some = [(stretch, minutes) for _, stretch, minutes in held]
    early = sum(
        Fraction(minutes * max(min(stretch.end, MIDDAY) - stretch.start, 0), stretch.end - stretch.start)
        for stretch, minutes in some
    )
    return TimeOfDay(
        min(stretch.start for stretch, _ in some),
        max(stretch.end for stretch, _ in some),
        Fraction(early) / sum(minutes for _, minutes in some),
    )


def _usual_start(held: Iterable[tuple[str, Stretch, int]]) -> Fraction:
    starts: dict[str, int] = {}
    for day, stretch, _ in held:
        starts[day] = min(starts.get(day, stretch.start), stretch.start)
    return Fraction(sum(starts.values()), len(starts))


def _joined(held: Iterable[tuple[str, Stretch, int]]) -> Iterator[Longest]:
    """An activity's stretches, those of a day that touch as one."""
    for day, some in groupby(held, key=lambda one: one[0]):
        run: Longest | None = None
        for _, stretch, minutes in some:
            if run is not None and run.end == stretch.start:
                run = Longest(run.minutes + minutes, day, run.start, stretch.end)
                continue
            if run is not None:
                yield run
            run = Longest(minutes, day, stretch.start, stretch.end)
        if run is not None:
            yield run


def _runs(stretches: Sequence[Stretch]) -> list[Stretch]:
    """What a day goes through, one after the other: stretches that touch under one name are one."""
    found: list[Stretch] = []
    for stretch in stretches:
        if found and found[-1].end == stretch.start and found[-1].activity == stretch.activity:
            found[-1] = found[-1]._replace(end=stretch.end)
        else:
            found.append(stretch)
    return found
