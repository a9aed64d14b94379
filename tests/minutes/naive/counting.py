"""What one part of a rule counts on one day, and the figure a list of such days comes to.

Part of the naive counter. The order is the written one: pool, not beside, joining, sitting, then
caps per sitting, day, week, year and share.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from tests.minutes.naive.calendar_days import monday_of
from tests.minutes.naive.layout import ClassDay, Piece, touches

EVERYTHING: dict[str, Any] = {"except": []}
Kept = dict[str, int]


@dataclass(frozen=True)
class CountedDay:
    """A day as one part sees it: lengths of its stretches, minutes by activity, minutes of `of`.

    `minutes` has the caps per sitting and per day taken off, and no other cap.
    """

    on: date
    stretches: list[int]
    minutes: dict[str, int]
    base: int

    def total(self) -> int:
        return sum(self.minutes.values())


def in_pool(pool: dict[str, Any], activity: str) -> bool:
    if "of" in pool:
        return activity in pool["of"]
    return activity not in pool["except"]


def joined(pieces: list[Piece], qualifies: Callable[[Piece], bool]) -> list[list[Piece]]:
    """The qualifying pieces in stretches: neighbours that touch join, anything between breaks."""
    stretches: list[list[Piece]] = []
    for piece in sorted(pieces, key=lambda each: (each.loose, each.start)):
        if not qualifies(piece):
            continue
        if stretches and touches(stretches[-1][-1], piece):
            stretches[-1].append(piece)
        else:
            stretches.append([piece])
    return stretches


def joined_by(pieces: list[Piece], activity: str) -> list[list[Piece]]:
    """The stretches of one activity."""
    return joined(pieces, lambda piece: credits(piece, activity))


def credits(piece: Piece, activity: str) -> bool:
    """A piece qualifies from one credited minute."""
    return piece.credits.get(activity, 0) >= 1


def beside_stretch(stretch: list[Piece], pieces: list[Piece], beside: str) -> bool:
    for piece in stretch:
        for other in pieces:
            if other is not piece and touches(piece, other) and credits(other, beside):
                return True
    return False


def kept_minutes(part: dict[str, Any], pieces: list[Piece]) -> list[tuple[Piece, Kept]]:
    """Each piece with its minutes in the pool, less what lies beside what it must not lie beside.

    OPEN POINT: several `not_beside` entries. Read here: each looks at the day as planned, not at
    what another entry has left over.
    """
    pool = part.get("pool", EVERYTHING)
    kept = [(piece, {a: m for a, m in piece.credits.items() if in_pool(pool, a)}) for piece in pieces]
    for entry in part.get("not_beside", []):
        activity = entry["activity"]
        for stretch in joined_by(pieces, activity):
            if beside_stretch(stretch, pieces, entry["beside"]):
                for piece, minutes in kept:
                    if any(piece is member for member in stretch):
                        minutes.pop(activity, None)
    return kept


def count_day(part: dict[str, Any], day: ClassDay) -> CountedDay:
    """One day through pool, not beside, joining, sitting, caps per sitting and per day."""
    kept = [Piece(piece.start, piece.end, minutes, piece.loose) for piece, minutes in kept_minutes(part, day.pieces)]
    counted: list[Piece] = []
    lengths: list[int] = []
    for stretch in joined(kept, lambda piece: sum(piece.credits.values()) >= 1):
        length = sum(sum(piece.credits.values()) for piece in stretch)
        if length >= part.get("sitting", 0):
            lengths.append(length)
            counted.extend(stretch)
    minutes: dict[str, int] = {}
    for piece in counted:
        for activity, amount in piece.credits.items():
            minutes[activity] = minutes.get(activity, 0) + amount
    for cap in caps_per(part, "sitting"):
        by_sitting = sum(
            min(cap["at_most"], sum(piece.credits[cap["activity"]] for piece in stretch))
            for stretch in joined_by(counted, cap["activity"])
        )
        minutes[cap["activity"]] = min(by_sitting, minutes.get(cap["activity"], 0))
    for cap in caps_per(part, "day"):
        minutes[cap["activity"]] = min(cap["at_most"], minutes.get(cap["activity"], 0))
    return CountedDay(day.on, lengths, minutes, base_of(part, day))


def base_of(part: dict[str, Any], day: ClassDay) -> int:
    """For a share: the minutes of `of`, without sitting, caps and not beside."""
    if "share" not in part:
        return 0
    pool = part["share"]["of"]
    return sum(m for piece in day.pieces for a, m in piece.credits.items() if in_pool(pool, a))


def caps_per(part: dict[str, Any], per: str) -> list[dict[str, Any]]:
    return [cap for cap in part.get("caps", []) if "at_most" in cap and cap.get("per", "day") == per]


def minutes_by_activity(part: dict[str, Any], days: list[CountedDay]) -> dict[str, int]:
    """The window's minutes by activity with the caps per week and per year taken off.

    OPEN POINT: a cap per week in a window that holds only some days of a calendar week. Read here:
    the cap, whole, limits what those days come to.
    """
    by_week: dict[date, dict[str, int]] = {}
    for day in days:
        week = by_week.setdefault(monday_of(day.on), {})
        for activity, amount in day.minutes.items():
            week[activity] = week.get(activity, 0) + amount
    for cap in caps_per(part, "week"):
        for week in by_week.values():
            week[cap["activity"]] = min(cap["at_most"], week.get(cap["activity"], 0))
    totals: dict[str, int] = {}
    for week in by_week.values():
        for activity, amount in week.items():
            totals[activity] = totals.get(activity, 0) + amount
    for cap in caps_per(part, "year"):
        totals[cap["activity"]] = min(cap["at_most"], totals.get(cap["activity"], 0))
    return totals


def amount(part: dict[str, Any], days: list[CountedDay], required: Fraction) -> Fraction:
    """The sum or mean of the window, share caps last: they are of the (prorated) requirement.

    OPEN POINT: the mean of no day at all (only in `so_far`). Read here: 0.
    """
    totals = {a: Fraction(m) for a, m in minutes_by_activity(part, days).items()}
    if "mean" in part:
        if not days:
            return Fraction(0)
        times = 5 if part["mean"] == "week" else 1
        totals = {a: m * times / len(days) for a, m in totals.items()}
    for cap in part.get("caps", []):
        if "at_most_share" in cap and cap["activity"] in totals:
            limit = Fraction(cap["at_most_share"]) * required
            totals[cap["activity"]] = min(limit, totals[cap["activity"]])
    return sum(totals.values(), Fraction(0))


def figure(part: dict[str, Any], days: list[CountedDay], required: Fraction) -> tuple[Fraction, Fraction]:
    """(planned, margin) over the days that count.

    OPEN POINT: `sitting` with `unbroken`. Read here: a stretch below the sitting does not count, so
    if all are, planned is 0.
    """
    if "share" in part:
        pool = sum(minutes_by_activity(part, days).values())
        base = sum(day.base for day in days)
        if base == 0:
            return Fraction(0), Fraction(0)
        return Fraction(pool, base), pool - required * base
    if "days_met" in part:
        enough = part["days_met"].get("minutes", 1)
        planned = Fraction(sum(1 for day in days if day.total() >= enough))
    elif "unbroken" in part:
        planned = Fraction(max((length for day in days for length in day.stretches), default=0))
    else:
        planned = amount(part, days, required)
    if "at_most" in part:
        return planned, required - planned
    return planned, planned - required
