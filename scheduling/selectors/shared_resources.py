"""The pages of what classes share: the list, and who has one thing when."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import Count
from django.http import Http404

from scheduling.models import BlockUse, SharedResource
from scheduling.selectors.clash_words import ClashTold, clashes_told
from scheduling.selectors.resource_uses import SchoolUses, school_uses
from scheduling.selectors.year_days import Day, by_weeks, usual_days
from scheduling.selectors.year_words import ResourceWords, YearWords, capital, day_in_full, small, year_words
from scheduling.sharing import Left, Use, remaining
from scheduling.specialist_day import Span
from teamroom.common.clock import said_span
from teamroom.common.wording import counted
from teamroom.dates.calendar_maths import REGULAR
from teamroom.dates.models import SchoolYear
from teamroom.members.selectors.readable import Readable

SHORTEST_LEFT = 5


@dataclass(frozen=True, slots=True)
class ResourceLine:
    """A resource of the list: how many classes at once, where it is needed, and how many clashes it has."""

    pk: int
    name: str
    at_once: str
    needed: str
    used: bool
    clashes: int


@dataclass(frozen=True, slots=True)
class UseLine:
    """A stretch of a day: a class that has it, or (without one) what is left of it."""

    times: str
    length: int
    room: str = ""
    pk: int = 0
    block: int = 0
    what: str = ""
    amount: int = 0
    clashes: bool = False
    left: str = ""


@dataclass(frozen=True, slots=True)
class ResourceDay:
    id: str
    title: str
    kind: str
    lines: tuple[UseLine, ...]


@dataclass(frozen=True, slots=True)
class ResourceStrip:
    """Days that belong together: the usual ones of a week, or those of another kind."""

    title: str
    days: tuple[ResourceDay, ...]


@dataclass(frozen=True)
class ResourceWeek:
    """Who has a resource when, by the weeks in effect on a date."""

    resource: ResourceWords
    strips: tuple[ResourceStrip, ...]
    clashes: tuple[ClashTold, ...]
    classes: int


def resource_in(year: SchoolYear, pk: int) -> SharedResource:
    """One of the year's own resources, or 404."""
    resource = SharedResource.objects.filter(year=year, pk=pk).first()
    if resource is None:
        raise Http404
    return resource


def resource_lines(year: SchoolYear, on: dt.date) -> list[ResourceLine]:
    """Every resource by its name, with its clashes on a date; a fixed number of queries."""
    words = year_words(year)
    uses = school_uses(year, on)
    found = BlockUse.objects.filter(resource__year=year).values("resource")
    counted_in = found.annotate(all=Count("pk"), rooms=Count("block__column__week__classroom", distinct=True))
    counts = {pk: (blocks, rooms) for pk, blocks, rooms in counted_in.values_list("resource", "all", "rooms")}
    told = clashes_told(uses)
    return [
        ResourceLine(
            pk=one.pk,
            name=one.name,
            at_once=at_once_said(one.capacity),
            needed=_needed(*counts.get(one.pk, (0, 0))),
            used=one.pk in counts,
            clashes=sum(len(clash.days) for clash in told if clash.resource.pk == one.pk),
        )
        for one in words.resources.values()
    ]


def _needed(blocks: int, rooms: int) -> str:
    if not blocks:
        return "no block needs it yet"
    return f"needed by {counted(blocks, 'block')} in {counted(rooms, 'classroom')}"


def at_once_said(capacity: int) -> str:
    return "one class at a time" if capacity == 1 else f"{capacity} classes at once"


def resource_week(year: SchoolYear, resource: int, on: dt.date, readable: Readable) -> ResourceWeek:
    """Who has a resource when on a date. What the time is for is told only of classrooms that are `readable`."""
    uses = school_uses(year, on, [resource])
    found = uses.words.resources[resource]
    drawing = _Drawing(uses, found, readable)
    return ResourceWeek(
        resource=found,
        strips=tuple(drawing.strips()),
        clashes=tuple(clashes_told(uses, [found])),
        classes=len(uses.holders),
    )


class _Drawing:
    """The days of one resource."""

    def __init__(self, uses: SchoolUses, resource: ResourceWords, readable: Readable) -> None:
        self.uses, self.resource, self.readable = uses, resource, readable
        self.words: YearWords = uses.words
        self.kinds = dict(self.words.kinds.values())
        self.usual = usual_days(self.words)
        self.days = uses.days(resource.pk)
        self.clashing = {
            place: {use.block for clash in some for use in clash.uses}
            for place, some in uses.clashes(resource, self.days).items()
        }

    def strips(self) -> Iterator[ResourceStrip]:
        for title, some in by_weeks(list(self.usual)):
            yield ResourceStrip(title, tuple(self.day((day, self.usual[day]), named=True) for day in some))
        others = self.days[len(self.usual) :]
        for kind in dict.fromkeys(kind for _, kind in others):
            days = tuple(self.day(place) for place in others if place[1] == kind)
            yield ResourceStrip(capital(self.kinds[kind]), days)

    def day(self, place: Day, *, named: bool = False) -> ResourceDay:
        day, kind = place
        some = self.uses.uses(self.resource.pk, day, kind)
        lines = [((use.start, use.end), self._use(use, place)) for use in some]
        left = remaining(some, self.resource.capacity, self.school_day(kind))
        lines += [((one.start, one.end), self._left(one)) for one in left if one.end - one.start >= SHORTEST_LEFT]
        lines.sort(key=lambda pair: pair[0])
        return ResourceDay(
            id=f"{day}-{kind}",
            title=capital(day_in_full(day)),
            kind=small(self.kinds[kind]) if named and kind != REGULAR else "",
            lines=tuple(line for _, line in lines),
        )

    def school_day(self, kind: str) -> Span:
        """From the first bell of the school to its last, on a kind of day."""
        every = self.words.inputs.bells.values()
        bells = [bell for by_kind in every if (bell := by_kind.get(kind) or by_kind.get(REGULAR))]
        return min((bell.start for bell in bells), default=0), max((bell.dismissal for bell in bells), default=0)

    def _use(self, use: Use, place: Day) -> UseLine:
        holder = self.uses.holders[use.place]
        may_read = holder.room in self.readable
        activity = self.words.activities[holder.needing[use.block].activity].name
        return UseLine(
            times=said_span(use.start, use.end),
            length=use.end - use.start,
            room=str(holder.room),
            pk=use.place,
            block=use.block if may_read else 0,
            what=activity if may_read else "",
            amount=use.amount if use.amount > 1 else 0,
            clashes=use.block in self.clashing.get(place, ()),
        )

    def _left(self, left: Left) -> UseLine:
        some = left.amount < self.resource.capacity
        said = f"{left.amount} of {self.resource.capacity} free" if some else "free"
        return UseLine(said_span(left.start, left.end), left.end - left.start, left=said)
