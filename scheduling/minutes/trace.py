"""A reading's figure spelled out: the addends, and why other minutes did not count.

Alike addends of one window stand together: the same block on days of the same sort is one line.
The minutes of a trace sum to what was counted; a mean's are then divided, a share's compared.
"""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from scheduling.minutes.measure import (
    base_minutes,
    counted_minutes,
    divisor_of,
    window_cap_steps,
)
from scheduling.minutes.plan import Block, DayChange
from scheduling.minutes.readings import ClassroomYear
from scheduling.minutes.rules import Cap, Figure, Part, ShareCap
from scheduling.minutes.tally import DayAccount, Entry, account
from scheduling.minutes.year import LikeWindows, Stretch

Source = str
"""Where an addend comes from: block, fixed stretch, day change, cap, or days."""


@dataclass(frozen=True, slots=True)
class Addend:
    """One line of a trace.

    `minutes` is what the line adds, over all its `days` (for days met: days). `each` is a single
    day's. `first` is the first date it stands for. `why` says why minutes did not count.
    """

    source: Source
    activity: str
    minutes: Figure
    days: int = 1
    each: Figure = 0
    first: dt.date | None = None
    cycle_day: str = ""
    kind: str = ""
    start: int | None = None
    end: int | None = None
    label: str = ""
    why: str = ""


@dataclass(frozen=True, slots=True)
class Trace:
    """The addends of one window; `total` is their sum, `divisor` what a mean divides it by, and
    `base` the minutes a share is taken of."""

    addends: tuple[Addend, ...]
    total: Figure
    divisor: Figure = 1
    base: int | None = None


def trace_of(book: ClassroomYear, part: Part, stretch: Stretch) -> Trace:
    """The trace of a part over one window, given by the places of its school days."""
    window = book.shape.window_at(part, stretch)
    kind = part.test.kind
    if kind == "days_met":
        addends = tuple(_days_met(book, part, window, stretch))
        return Trace(addends, sum(addend.minutes for addend in addends))
    if kind == "unbroken":
        addends = tuple(_longest(book, part, stretch))
        return Trace(addends, sum(addend.minutes for addend in addends))
    tallies = book.tallies(part)
    addends = (*_addends(book, part, window, stretch), *_window_cuts(book, part, window))
    return Trace(
        addends,
        counted_minutes(part, window, tallies),
        divisor_of(part, window),
        base_minutes(window, tallies) if kind == "share" else None,
    )


def _sorts(book: ClassroomYear, window: LikeWindows, stretch: Stretch) -> Iterator[tuple[int, int, dt.date]]:
    """Each sort of day in a window, how many days are of it, and the first."""
    first: dict[int, dt.date] = {}
    for place in range(stretch[0], stretch[1] + 1):
        first.setdefault(book.shape.sort_of[place], book.shape.days[place].date)
    for sort, count in sorted(window.bag, key=lambda item: first[item[0]]):
        yield sort, count, first[sort]


def _addends(book: ClassroomYear, part: Part, window: LikeWindows, stretch: Stretch) -> Iterator[Addend]:
    left_out: dict[str, list[int]] = {}
    for sort, count, first in _sorts(book, window, stretch):
        day = account(part, book.pieces[sort])
        for entry in day.entries:
            if entry.activity not in part.pool:
                # Named once an activity, not once a block: it explains, it does not count.
                seen = left_out.setdefault(entry.activity, [0, 0])
                seen[0] += count
                seen[1] += entry.minutes * count
                continue
            yield _entry_addend(book, sort, entry, count, first)
        yield from _day_cuts(book, sort, day, count, first)
    for activity, (days, minutes) in sorted(left_out.items()):
        yield Addend(
            "block",
            activity,
            0,
            days=days,
            why=f"{minutes} minutes of an activity this rule does not count",
        )


def _entry_addend(book: ClassroomYear, sort: int, entry: Entry, count: int, first: dt.date) -> Addend:
    origin = entry.piece.origin
    label = origin.name if isinstance(origin, DayChange) else origin.activity
    return Addend(
        "day change" if isinstance(origin, DayChange) else "block" if isinstance(origin, Block) else "fixed stretch",
        entry.activity,
        entry.counted * count,
        days=count,
        each=entry.counted,
        first=first,
        cycle_day=book.shape.sorts[sort].cycle_day,
        kind=book.shape.sorts[sort].kind,
        start=entry.piece.start,
        end=entry.piece.end,
        label=label,
        why=f"{entry.minutes} minutes {entry.why}" if entry.why else "",
    )


def _day_cuts(book: ClassroomYear, sort: int, day: DayAccount, count: int, first: dt.date) -> Iterator[Addend]:
    for cut in day.cuts:
        yield Addend(
            "cap",
            cut.activity,
            -cut.minutes * count,
            days=count,
            each=-cut.minutes,
            first=first,
            cycle_day=book.shape.sorts[sort].cycle_day,
            kind=book.shape.sorts[sort].kind,
            why=cut.why,
        )


def _window_cuts(book: ClassroomYear, part: Part, window: LikeWindows) -> Iterator[Addend]:
    tallies = book.tallies(part)
    for place, activity in enumerate(part.window_capped):
        steps = window_cap_steps(part, window, tallies, place=place, activity=activity)
        for before, after in zip(steps, steps[1:], strict=False):
            if after.minutes != before.minutes:
                taken = after.minutes - before.minutes
                yield Addend("cap", activity, taken, each=taken, why=_cap_said(after.cap))


def _cap_said(cap: Cap | ShareCap | None) -> str:
    if isinstance(cap, ShareCap):
        return f"only {cap.share} of the requirement may count"
    return f"only {cap.at_most} minutes count a {cap.per}" if cap else ""


def _days_met(book: ClassroomYear, part: Part, window: LikeWindows, stretch: Stretch) -> Iterator[Addend]:
    tallies, enough = book.tallies(part), part.test.minutes
    for sort, count, first in _sorts(book, window, stretch):
        minutes = tallies.free[sort]
        met = minutes >= enough
        yield Addend(
            "days",
            "",
            count if met else 0,
            days=count,
            each=int(met),
            first=first,
            cycle_day=book.shape.sorts[sort].cycle_day,
            kind=book.shape.sorts[sort].kind,
            why=f"{minutes} minutes on each" + ("" if met else f", a day is met from {enough}"),
        )


def _longest(book: ClassroomYear, part: Part, stretch: Stretch) -> Iterator[Addend]:
    """The pieces of the window's first longest stretch."""
    best: tuple[int, int, tuple[Entry, ...]] | None = None
    for place in range(stretch[0], stretch[1] + 1):
        sort = book.shape.sort_of[place]
        if part.day_kinds is not None and book.shape.sorts[sort].kind not in part.day_kinds:
            continue
        for entries in account(part, book.pieces[sort]).stretches:
            length = sum(entry.counted for entry in entries)
            if best is None or length > best[0]:
                best = (length, place, entries)
    if best is not None:
        _, place, entries = best
        for entry in entries:
            yield _entry_addend(book, book.shape.sort_of[place], entry, 1, book.shape.days[place].date)
