"""A block that two people changed: what it was, what one made of it and what the other wants, side by side."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from scheduling.block_merge import merges
from scheduling.models import Week, WeekChange
from scheduling.selectors.edit_words import said_moment, who_said
from scheduling.selectors.history_words import history_words
from scheduling.week_replay import by_block

Kept = Mapping[str, Any]
NAMES = {
    "place": "Day",
    "times": "Time",
    "activity": "Activity",
    "credits": "Credits",
    "why": "Why here",
    "uses": "Needs",
}
"""What each part of a block is called to people, as the history calls it."""


@dataclass(frozen=True)
class Row:
    """A part that differs. `side` says whose it is without asking, empty where one has to choose."""

    part: str
    name: str
    base: str
    theirs: str
    mine: str
    side: str
    chosen: str = ""


@dataclass(frozen=True)
class Conflict:
    """Who changed the block meanwhile, when, and every part that differs."""

    who: str
    when: str
    block: str
    rows: tuple[Row, ...]

    @property
    def in_question(self) -> list[Row]:
        return [row for row in self.rows if not row.side]

    @property
    def something_to_save(self) -> bool:
        return any(row.side != "theirs" for row in self.rows)

    @property
    def clear(self) -> list[Row]:
        return [row for row in self.rows if row.side]


@dataclass(frozen=True)
class Gone:
    """A block that somebody took away: who, when, what it was, and the record that says so."""

    who: str
    when: str
    block: str
    kept: Kept


def conflict_of(
    week: Week, theirs: Kept, mine: Kept, revision: int, chosen: Mapping[str, str] | None = None
) -> Conflict:
    """The block as it stands against what somebody asked who saw it at a revision; `chosen` is
    whose they took already, by the part."""
    words, block = history_words(week), theirs["block"]
    base = _left_by(WeekChange.objects.filter(week=week, revision=revision).first(), block)
    latest = WeekChange.objects.filter(week=week, revision__gt=revision, after__contains=[{"block": block}])
    change = latest.select_related("member").order_by("-revision").first()
    told = {
        side: dict(words.particulars(kept)) if kept else {}
        for side, kept in (("base", base), ("theirs", theirs), ("mine", mine))
    }
    rows = tuple(
        Row(
            part.name,
            NAMES[part.name],
            told["base"].get(NAMES[part.name], ""),
            told["theirs"].get(NAMES[part.name], ""),
            told["mine"].get(NAMES[part.name], ""),
            part.side or "",
            (chosen or {}).get(part.name, ""),
        )
        for part in merges(base, theirs, mine)
        if not part.agreed
    )
    who, when = _by(change, week)
    return Conflict(who, when, words.block(theirs), rows)


def gone_from(week: Week, block: int) -> Gone | None:
    """A block that is no longer in the week, out of the record of who took it away; None if it never was there."""
    found = WeekChange.objects.filter(week=week, before__contains=[{"block": block}]).select_related("member")
    change = found.order_by("-revision").first()
    if change is None:
        return None
    kept = by_block(change.before)[block]
    return Gone(*_by(change, week), history_words(week).block(kept), kept)


def _left_by(change: WeekChange | None, block: int) -> Kept | None:
    return None if change is None else by_block(change.after).get(block)


def _by(change: WeekChange | None, week: Week) -> tuple[str, str]:
    if change is None:
        return "Somebody", ""
    made: dt.datetime = change.made_at
    return who_said(change), said_moment(made, week.classroom.year)
