"""One classroom's day laid out minute by minute, and the pieces that come of it.

Part of the naive counter. A day is an array of 1,440 cells, each owned by one block or one fixed
stretch or nobody; a piece is an unbroken run of cells with one owner.
"""

from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from math import floor
from typing import Any

from tests.minutes.naive.calendar_days import REGULAR, SchoolDate, day_of, school_dates

MINUTES_OF_A_DAY = 24 * 60


@dataclass(frozen=True)
class Owner:
    """A whole block or fixed stretch: its length, and its credits in the order listed."""

    length: int
    credits: list[tuple[str, int]]


@dataclass(frozen=True)
class Piece:
    """Minutes [start, end) and what they credit; `loose` is a day change's own stretch."""

    start: int
    end: int
    credits: dict[str, int]
    loose: bool = False


@dataclass(frozen=True)
class ClassDay:
    """A school day of one classroom with everything that lies in it."""

    on: date
    kind: str
    pieces: list[Piece] = field(default_factory=list)


def clock(text: str) -> int:
    hours, minutes = text.split(":")
    return int(hours) * 60 + int(minutes)


def touches(piece: Piece, other: Piece) -> bool:
    if piece.loose or other.loose:
        return False
    return piece.end == other.start or other.end == piece.start


def bell_for(school: dict[str, Any], classroom: dict[str, Any], kind: str) -> Any:
    """The bell schedule of the classroom's first grade for a day kind, or None."""
    first_grade = classroom["grades"][0]
    for bell in school.get("bell_schedules", []):
        if first_grade in bell["grades"] and bell.get("kind", REGULAR) == kind:
            return bell
    return None


def week_in_force(school: dict[str, Any], classroom: dict[str, Any], on: date) -> Any:
    """The classroom's version with the latest start not after the date, or None; a draft is in force on no date."""
    started = [
        week
        for week in school.get("weeks", [])
        if week["classroom"] == classroom["key"] and day_of(week["from"]) <= on and not week.get("draft", False)
    ]
    return max(started, key=lambda week: day_of(week["from"]), default=None)


def column_of_its_own(week: dict[str, Any], day: SchoolDate) -> Any:
    """The column for (cycle day, kind), else the kind's own column, else None."""
    for column in week.get("columns", []):
        if column.get("day") == day.cycle_day and column.get("kind", REGULAR) == day.kind:
            return column
    for column in week.get("columns", []):
        if "day" not in column and column.get("kind") == day.kind:
            return column
    return None


def plain_column(week: dict[str, Any], day: SchoolDate) -> Any:
    for column in week.get("columns", []):
        if column.get("day") == day.cycle_day and column.get("kind", REGULAR) == REGULAR:
            return column
    return {"blocks": []}


def block_owner(block: dict[str, Any]) -> Owner:
    """With credits, the block's activity is only its label."""
    length = clock(block["end"]) - clock(block["start"])
    if "credits" in block:
        return Owner(length, [(c["activity"], c["minutes"]) for c in block["credits"]])
    return Owner(length, [(block["activity"], length)])


def lay_out_week(school: dict[str, Any], classroom: dict[str, Any], day: SchoolDate, cells: list[Owner | None]) -> None:
    """Blocks first (clipped if the plain column stands in), then fixed stretches in what is left."""
    week = week_in_force(school, classroom, day.on)
    if week is None:
        return
    bell = bell_for(school, classroom, day.kind)
    column = column_of_its_own(week, day)
    first, last = 0, MINUTES_OF_A_DAY
    if column is None:
        column = plain_column(week, day)
        if day.kind != REGULAR and bell is not None:
            first, last = clock(bell["start"]), clock(bell["dismissal"])
        if bell is None:
            # Holds whether or not the plain column exists: an absent one is an empty one.
            bell = bell_for(school, classroom, REGULAR)
    for block in column.get("blocks", []):
        owner = block_owner(block)
        for minute in range(clock(block["start"]), clock(block["end"])):
            if first <= minute < last:
                cells[minute] = owner
    for fixed in bell.get("fixed", []) if bell is not None else []:
        if day.cycle_day in fixed.get("days", [day.cycle_day]):
            owner = block_owner(fixed)
            for minute in range(clock(fixed["start"]), clock(fixed["end"])):
                if cells[minute] is None:
                    cells[minute] = owner


def credits_of_piece(owner: Owner, piece_length: int) -> dict[str, int]:
    """floor(sum x p / n) minutes, shared by largest remainder, ties in the order listed."""
    total = sum(minutes for _, minutes in owner.credits)
    to_share = floor(Fraction(total * piece_length, owner.length))
    quotas = [Fraction(to_share * minutes, total) for _, minutes in owner.credits]
    shares = [floor(quota) for quota in quotas]
    while sum(shares) < to_share:
        chosen = 0
        for place in range(len(quotas)):
            if quotas[place] - shares[place] > quotas[chosen] - shares[chosen]:
                chosen = place
        shares[chosen] = shares[chosen] + 1
    return {activity: share for (activity, _), share in zip(owner.credits, shares, strict=True)}


def pieces_in(cells: list[Owner | None]) -> list[Piece]:
    pieces = []
    minute = 0
    while minute < MINUTES_OF_A_DAY:
        owner = cells[minute]
        start = minute
        while minute < MINUTES_OF_A_DAY and cells[minute] is owner:
            minute = minute + 1
        if owner is not None:
            pieces.append(Piece(start, minute, credits_of_piece(owner, minute - start)))
    return pieces


def day_changes_for(school: dict[str, Any], classroom: dict[str, Any], on: date) -> list[dict[str, Any]]:
    found = []
    for change in school.get("day_changes", []):
        if day_of(change["date"]) != on:
            continue
        classrooms, teams = change.get("classrooms", []), change.get("teams", [])
        for_the_school = not classrooms and not teams
        if for_the_school or classroom["key"] in classrooms or classroom["team"] in teams:
            found.append(change)
    return found


def class_days(school: dict[str, Any], classroom: dict[str, Any]) -> list[ClassDay]:
    """The classroom's school days in order; a day closed by a day change is not among them."""
    days = []
    for day in school_dates(school):
        changes = day_changes_for(school, classroom, day.on)
        if any(change.get("closed", False) for change in changes):
            continue
        cells: list[Owner | None] = [None] * MINUTES_OF_A_DAY
        lay_out_week(school, classroom, day, cells)
        for change in changes:
            for minute in range(clock(change["from"]), clock(change["to"])):
                cells[minute] = None
        pieces = pieces_in(cells)
        for change in changes:
            credited = {c["activity"]: c["minutes"] for c in change.get("credits", [])}
            if credited:
                start, end = clock(change["from"]), clock(change["to"])
                pieces.append(Piece(start, end, credited, loose=True))
        days.append(ClassDay(day.on, day.kind, pieces))
    return days
