"""Blocks of the history in words: one as it stood, and what differs between two states of a week."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from scheduling.minutes.figures import listed
from scheduling.models import SharedResource, Week
from scheduling.selectors.edit_words import name_said, place_said
from scheduling.selectors.year_words import YearWords, capital, year_words
from teamroom.common.clock import said_span

Kept = Mapping[str, Any]
State = Mapping[int, Kept]
Becomes = Literal["comes", "goes", "changes"]
NOTHING = "none"


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing about a block, as it was and as it is after."""

    what: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class BlockTold:
    """A block that comes, goes or changes, and what of it differs."""

    becomes: Becomes
    said: str
    differences: tuple[Difference, ...]


@dataclass(frozen=True)
class HistoryWords:
    """A year's words, with the names of what its classes share, by key."""

    year: YearWords
    resources: Mapping[str, str]

    def block(self, kept: Kept) -> str:
        """`Mathematics, Mon 8:00-9:00`."""
        return f"{name_said(self.year, kept)}, {self._when(kept)}"

    def differences(self, before: Kept, after: Kept) -> tuple[Difference, ...]:
        """What of a block is another afterwards."""
        told = zip(self.particulars(before), self.particulars(after), strict=True)
        return tuple(Difference(what, was, now) for (what, was), (_, now) in told if was != now)

    def contrast(self, before: State, after: State) -> tuple[BlockTold, ...]:
        """Every block that differs between two states of a week, in the order of the week."""
        pks = sorted(before.keys() | after.keys(), key=lambda pk: self._place(after.get(pk) or before[pk]))
        return tuple(self._told(before.get(pk), after.get(pk)) for pk in pks if before.get(pk) != after.get(pk))

    def _told(self, before: Kept | None, after: Kept | None) -> BlockTold:
        if before is None or after is None:
            return BlockTold("goes" if after is None else "comes", self.block(after or before or {}), ())
        return BlockTold("changes", self.block(after), self.differences(before, after))

    def particulars(self, kept: Kept) -> Iterator[tuple[str, str]]:
        """What is to be said of a block, each under its name and in the same order for all."""
        yield "Activity", name_said(self.year, kept)
        yield "Day", capital(place_said(self.year, kept))
        yield "Time", said_span(kept["start"], kept["end"])
        credits = [f"{name_said(self.year, {'activity': key})} {minutes}" for key, minutes in kept["credits"]]
        yield "Credits", listed(credits) or NOTHING
        yield "Why here", kept["why"] or NOTHING
        uses = [
            self.resources.get(key, key) + (f" ({amount})" if amount > 1 else "")
            for key, amount in kept.get("uses", ())
        ]
        yield "Needs", listed(uses) or NOTHING
        yield "Held with the team", "yes" if kept.get("together") else "no"

    def _when(self, kept: Kept) -> str:
        return f"{place_said(self.year, kept)} {said_span(kept['start'], kept['end'])}"

    def _place(self, kept: Kept) -> tuple[int, str, int]:
        days = self.year.cycle.day_names
        return days.index(kept["day"]) if kept["day"] in days else len(days), kept["kind"], kept["start"]


def history_words(week: Week) -> HistoryWords:
    """The words of a week's year, in one query besides what is kept."""
    year = week.classroom.year
    return HistoryWords(year_words(year), dict(SharedResource.objects.filter(year=year).values_list("key", "name")))
