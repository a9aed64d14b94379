"""What one day counts for one part of a rule.

The order is fixed: pool, not beside, joining, sitting, then caps per sitting and per day. Caps
over more than a day are the window's business and only prepared here.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from scheduling.minutes.layout import Piece
from scheduling.minutes.rules import Part, Pool


class Entry(NamedTuple):
    """Minutes a piece credits to one activity, how many of them count, and why others do not."""

    piece: Piece
    activity: str
    minutes: int
    counted: int
    why: str


class Cut(NamedTuple):
    """Minutes of an activity taken off by a cap, with the reason."""

    activity: str
    minutes: int
    why: str


@dataclass(frozen=True, slots=True)
class DayAccount:
    """A day's entries and cuts for a part; `stretches` are the joined ones that count."""

    entries: tuple[Entry, ...]
    cuts: tuple[Cut, ...]
    stretches: tuple[tuple[Entry, ...], ...]

    def by_activity(self) -> dict[str, int]:
        """Minutes that count, by activity, caps per sitting and day taken off."""
        minutes: dict[str, int] = {}
        for entry in self.entries:
            minutes[entry.activity] = minutes.get(entry.activity, 0) + entry.counted
        for cut in self.cuts:
            minutes[cut.activity] -= cut.minutes
        return minutes

    @property
    def longest(self) -> int:
        """The longest unbroken stretch in minutes, caps ignored."""
        return max((_counted(stretch) for stretch in self.stretches), default=0)


@dataclass(frozen=True, slots=True)
class Tallies:
    """A part's figures for each sort of day: minutes free of wider caps, minutes of each activity
    under one (in the order of the part's `window_capped`), the longest stretch, and the minutes
    of the pool a share is taken of. Lists not asked for are empty."""

    free: list[int]
    capped: list[list[int]]
    longest: list[int]
    base: list[int]


@dataclass(frozen=True, slots=True)
class Credited:
    """Minutes credited on each sort of day, by activity and in all, before any rule looks at them."""

    by_activity: dict[str, list[int]]
    total: list[int]


def credited(pieces: Sequence[Sequence[Piece]]) -> Credited:
    """What each sort of day credits; every activity's list is as long as there are sorts."""
    minutes: dict[str, list[int]] = {}
    total = [0] * len(pieces)
    for sort, day in enumerate(pieces):
        for piece in day:
            for activity, n in piece.credits:
                if activity not in minutes:
                    minutes[activity] = [0] * len(pieces)
                minutes[activity][sort] += n
                total[sort] += n
    return Credited(minutes, total)


def pool_minutes(pool: Pool, days: Credited) -> list[int]:
    """Each sort of day's minutes of a pool."""
    named = [days.by_activity[name] for name in pool.activities if name in days.by_activity]
    if pool.except_:
        return [total - sum(out) for total, *out in zip(days.total, *named, strict=True)] if named else days.total
    if len(named) == 1:
        return named[0]
    return [sum(day) for day in zip(*named, strict=True)] if named else [0] * len(days.total)


def tally(part: Part, pieces: Sequence[Sequence[Piece]], days: Credited) -> Tallies:
    """The part's figures for each sort of day; `days` is `credited` of them, shared by all parts.

    Where neighbours do not matter the sums by activity are enough; the account is the same
    reckoning spelled out, and the tests hold the two together.
    """
    if part.test.kind == "unbroken":
        return Tallies([], [], [account(part, day).longest for day in pieces], [])
    if part.needs_stretches:
        by_day = [account(part, day).by_activity() for day in pieces]
        free = [sum(day.values()) for day in by_day]
        capped = [[day.get(name, 0) for day in by_day] for name in part.window_capped]
    else:
        free = pool_minutes(part.pool, days)
        none = [0] * len(days.total)
        capped = [days.by_activity.get(name, none) for name in part.window_capped]
        if part.day_caps:
            free, capped = _day_capped(part, days, free, capped)
    if capped:
        free = [minutes - sum(under) for minutes, *under in zip(free, *capped, strict=True)]
    base = pool_minutes(part.test.of, days) if part.test.of is not None else []
    return Tallies(free, capped, [], base)


def _day_capped(
    part: Part, days: Credited, free: list[int], capped: list[list[int]]
) -> tuple[list[int], list[list[int]]]:
    for name, at_most in part.day_caps.items():
        if name in part.pool and name in days.by_activity:
            over = [max(minutes - at_most, 0) for minutes in days.by_activity[name]]
            free = [minutes - n for minutes, n in zip(free, over, strict=True)]
            if name in part.window_capped:
                kept = [minutes - n for minutes, n in zip(days.by_activity[name], over, strict=True)]
                place = part.window_capped.index(name)
                capped = [*capped[:place], kept, *capped[place + 1 :]]
    return free, capped


def account(part: Part, pieces: Sequence[Piece]) -> DayAccount:
    """The day spelled out for a part: every credit in order of time, then the caps' cuts."""
    barred = _barred(part, pieces)
    entries: list[Entry] = []
    for n, piece in enumerate(pieces):
        for activity, minutes in piece.credits:
            why = ""
            if activity not in part.pool:
                why = "not among the activities this rule counts"
            elif (n, activity) in barred:
                why = barred[n, activity]
            entries.append(Entry(piece, activity, minutes, 0 if why else minutes, why))
    stretches = list(_joined(entries))
    if part.sitting:
        entries, stretches = _seated(part.sitting, entries, stretches)
    cuts = tuple(_cuts(part, entries))
    return DayAccount(tuple(entries), cuts, tuple(stretches))


def _counted(entries: Sequence[Entry]) -> int:
    return sum(entry.counted for entry in entries)


def _joined(entries: Iterable[Entry]) -> Iterator[tuple[Entry, ...]]:
    """Runs of the entries that count whose pieces are the same or touch, in order of time."""
    run: list[Entry] = []
    for entry in entries:
        if not entry.counted:
            continue
        last = run[-1].piece if run else None
        if last is not None and last is not entry.piece and not touch(last, entry.piece):
            yield tuple(run)
            run = []
        run.append(entry)
    if run:
        yield tuple(run)


def touch(earlier: Piece, later: Piece) -> bool:
    """Whether one piece begins where the other ends; a day change's credits touch nothing."""
    return earlier.end == later.start and not earlier.alone and not later.alone


def _barred(part: Part, pieces: Sequence[Piece]) -> dict[tuple[int, str], str]:
    """Which (piece, activity) do not count for standing beside something, with the reason."""
    barred: dict[tuple[int, str], str] = {}
    for activity, beside in part.not_beside:
        for run in _runs_of(pieces, activity):
            if any(_touches_other(pieces, n, beside) for n in run):
                barred.update({(n, activity): f"right beside {beside}" for n in run})
    return barred


def _runs_of(pieces: Sequence[Piece], activity: str) -> list[list[int]]:
    """Places of the pieces that credit an activity, those that touch together."""
    runs: list[list[int]] = []
    for n, piece in enumerate(pieces):
        if not _credits(piece, activity):
            continue
        if runs and runs[-1][-1] == n - 1 and touch(pieces[n - 1], piece):
            runs[-1].append(n)
        else:
            runs.append([n])
    return runs


def _credits(piece: Piece, activity: str) -> bool:
    return any(credit.activity == activity for credit in piece.credits)


def _touches_other(pieces: Sequence[Piece], n: int, beside: str) -> bool:
    before = n > 0 and touch(pieces[n - 1], pieces[n]) and _credits(pieces[n - 1], beside)
    after = n + 1 < len(pieces) and touch(pieces[n], pieces[n + 1]) and _credits(pieces[n + 1], beside)
    return before or after


def _seated(
    sitting: int, entries: list[Entry], stretches: list[tuple[Entry, ...]]
) -> tuple[list[Entry], list[tuple[Entry, ...]]]:
    kept = [stretch for stretch in stretches if _counted(stretch) >= sitting]
    brief = {id(e) for stretch in stretches if _counted(stretch) < sitting for e in stretch}
    why = f"in a stretch of less than {sitting} minutes"
    entries = [e._replace(counted=0, why=why) if id(e) in brief else e for e in entries]
    return entries, kept


def _cuts(part: Part, entries: Sequence[Entry]) -> Iterator[Cut]:
    left: dict[str, int] = {}
    for entry in entries:
        left[entry.activity] = left.get(entry.activity, 0) + entry.counted
    for activity, at_most in part.sitting_caps.items():
        for stretch in _joined(e for e in entries if e.activity == activity):
            over = _counted(stretch) - at_most
            if over > 0:
                left[activity] -= over
                yield Cut(activity, over, f"only {at_most} minutes count at a sitting")
    for activity, at_most in part.day_caps.items():
        over = left.get(activity, 0) - at_most
        if over > 0:
            yield Cut(activity, over, f"only {at_most} minutes count a day")
