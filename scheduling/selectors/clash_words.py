"""Clashes over what classes share, in words that name all parties with their times."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.utils.text import get_text_list

from scheduling.minutes.figures import listed
from scheduling.selectors.resource_uses import SchoolUses
from scheduling.selectors.year_days import Day, usual_days
from scheduling.selectors.year_words import ResourceWords, YearWords, capital, day_in_full, day_said, small
from scheduling.sharing import Clash, Use
from teamroom.common.clock import said_clock, said_span
from teamroom.members.models import Classroom


@dataclass(frozen=True)
class ClashTold:
    """A clash alike on some days: when, what, and who wants it. `blocks` are the ids of theirs."""

    resource: ResourceWords
    days: tuple[Day, ...]
    when: str
    times: str
    wanted: int
    parties: str
    rooms: frozenset[int]
    blocks: frozenset[int]

    @property
    def said(self) -> str:
        """`Science lab, Mon 9:00-9:30: Room 12 and Room 14 (9:00-9:45)`, with how many are wanted of several."""
        several = self.resource.capacity > 1 or self.wanted > len(self.rooms)
        of = f", {self.wanted} wanted of {self.resource.capacity}" if several else ""
        return f"{self.resource.name}, {self.when} {self.times}{of}: {self.parties}"


def clashes_told(uses: SchoolUses, resources: Iterable[ResourceWords] | None = None) -> list[ClashTold]:
    """Every clash over some resources, or over all: those of the usual days first in order of time."""
    wanted = uses.words.resources.values() if resources is None else resources
    return [told for resource in wanted for told in _of_one(uses, resource)]


def _of_one(uses: SchoolUses, resource: ResourceWords) -> list[ClashTold]:
    rooms = {pk: holder.room for pk, holder in uses.holders.items()}
    alike: dict[tuple[object, ...], list[tuple[Day, Clash]]] = {}
    for day, some in uses.clashes(resource, uses.days(resource.pk)).items():
        for clash in some:
            parties = tuple((use.place, use.start, use.end, use.amount) for use in clash.uses)
            alike.setdefault((clash.start, clash.end, parties), []).append((day, clash))
    return [
        ClashTold(
            resource=resource,
            days=tuple(day for day, _ in held),
            when=days_said([day for day, _ in held], uses.words),
            times=said_span(held[0][1].start, held[0][1].end),
            wanted=held[0][1].wanted,
            parties=parties_said(held[0][1], rooms),
            rooms=frozenset(use.place for use in held[0][1].uses),
            blocks=frozenset(use.block for _, clash in held for use in clash.uses),
        )
        for held in alike.values()
    ]


def days_said(days: Iterable[Day], words: YearWords) -> str:
    """`Mon and Thu`, `Tuesday`; with the kind where it is not the usual one: `Mon (minimum day)`."""
    usual, names = usual_days(words), dict(words.kinds.values())
    some = list(days)
    say = day_said if some[1:] else day_in_full
    told = [say(day) if usual.get(day) == kind else f"{day_said(day)} ({small(names[kind])})" for day, kind in some]
    return capital(listed(told))


def parties_said(clash: Clash, rooms: Mapping[int, Classroom], but: Iterable[int] = ()) -> str:
    """The classrooms of a clash in the order of `rooms`, but for those of some blocks: each with its own times
    unless they are the clash's, and how many it wants if more than one."""
    left_out, order = set(but), list(rooms)
    uses = sorted(clash.uses, key=lambda use: (order.index(use.place), use))
    return get_text_list([_party(use, clash, rooms) for use in uses if use.block not in left_out], "and")


def _party(use: Use, clash: Clash, rooms: Mapping[int, Classroom]) -> str:
    more = [f"{use.amount} of them"] if use.amount > 1 else []
    more += [said_span(use.start, use.end)] if (use.start, use.end) != (clash.start, clash.end) else []
    return f"{rooms[use.place]} ({', '.join(more)})" if more else str(rooms[use.place])


def from_to(clash: Clash) -> str:
    return f"from {said_clock(clash.start)} to {said_clock(clash.end)}"
