"""A specialist's own week: when they are with which class, where two classes want them at once, and
when they are free. Only stretches of their own activities are taken from the weeks they come from."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby

from django.utils.text import get_text_list

from scheduling.minutes.layout import Piece, by_place, lay_out
from scheduling.minutes.plan import Bell, ClassroomPlan, Version
from scheduling.models import SpecialistPost
from scheduling.selectors.plans import plans_of
from scheduling.selectors.specialists import reached
from scheduling.selectors.year_days import by_weeks, other_days, usual_days
from scheduling.selectors.year_words import YearWords, capital, day_in_full, day_said, small, year_words
from scheduling.specialist_day import Clash, Span, Stretch, clashes, free_between, lasting
from teamroom.common.clock import said_span
from teamroom.dates.calendar_maths import REGULAR
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom
from teamroom.members.selectors.talk_to import Asked, whom_to_ask


@dataclass(frozen=True, slots=True)
class OwnLine:
    """A stretch with a class, or (without a classroom) a free one. `note` says what is special about it."""

    times: str
    length: int
    name: str = ""
    room: str = ""
    what: str = ""
    note: str = ""
    pk: int | None = None
    clashes: bool = False


@dataclass(frozen=True, slots=True)
class OwnClash:
    """Classes that want the same person at once, alike on these days: the times of each, and whom to ask."""

    days: str
    count: int
    times: str
    length: int
    classes: str
    ask: str


@dataclass(frozen=True, slots=True)
class OwnDay:
    """A day of the cycle on a kind of day. Minutes two classes have at once count once."""

    id: str
    title: str
    kind: str
    lines: tuple[OwnLine, ...]
    minutes: int
    free: int
    longest: int


@dataclass(frozen=True, slots=True)
class OwnStrip:
    """Days that belong together: the usual ones of a week, or those of another kind with their clashes."""

    title: str
    days: tuple[OwnDay, ...]
    minutes: int | None
    clashes: tuple[OwnClash, ...] = ()


@dataclass(frozen=True, slots=True)
class OwnWeek:
    """All of it, with the clashes of the usual days. `classes` counts the classrooms reached;
    `unplanned` names those without a week on the date."""

    strips: tuple[OwnStrip, ...]
    classes: int
    unplanned: tuple[str, ...]
    clashes: tuple[OwnClash, ...] = field(default=())

    @property
    def times_at_once(self) -> int:
        return sum(clash.count for clash in self.clashes)

    @property
    def is_empty(self) -> bool:
        return not any(line.pk for strip in self.strips for day in strip.days for line in day.lines)


@dataclass(frozen=True)
class _Class:
    """A classroom as a specialist meets it: the version in effect, its bells, and which activities count."""

    room: Classroom
    version: Version | None
    bells: Mapping[str, Bell]
    activities: frozenset[str]

    def pieces(self, cycle_day: str, kind: str) -> Iterator[Piece]:
        """The stretches of the activities that count. Before the first week the bells already fix some."""
        columns = by_place(self.version.columns) if self.version else {}
        for piece in lay_out(columns, self.bells, (), cycle_day=cycle_day, kind=kind):
            if any(credit.activity in self.activities for credit in piece.credits):
                yield piece


def own_week(year: SchoolYear, posts: Sequence[SpecialistPost], on: dt.date) -> OwnWeek:
    """The week of whoever holds these posts, out of the versions in effect on a date; a fixed number of queries."""
    words = year_words(year)
    rooms = list(year.classrooms.filter(retired=False).order_by("name", "key"))
    taught = reached(posts, rooms)
    plans = plans_of(words.inputs, list(taught))
    keys = words.inputs.activities
    classes = [
        _class(room, plans[room.pk], frozenset(keys[activity] for activity in activities), on)
        for room, activities in taught.items()
    ]
    drawing = _Drawing(words, classes, whom_to_ask(list(taught), on))
    return OwnWeek(
        strips=tuple(drawing.strips()),
        classes=len(classes),
        unplanned=tuple(str(each.room) for each in classes if each.version is None),
        clashes=drawing.clashes_on(drawing.usual.items()),
    )


def _class(room: Classroom, plan: ClassroomPlan, activities: frozenset[str], on: dt.date) -> _Class:
    version = next((version for version in reversed(plan.versions) if version.starts <= on), None)
    return _Class(room, version, plan.bells, activities)


class _Drawing:
    """The days of one specialist, drawn out of their classes."""

    def __init__(self, words: YearWords, classes: Sequence[_Class], ask: Mapping[int, Sequence[Asked]]) -> None:
        self.words, self.classes, self.ask = words, classes, ask
        self.rooms = {each.room.pk: each.room for each in classes}
        self.names = {key: activity.name for key, activity in words.by_key.items()}
        self.several = len({activity for each in classes for activity in each.activities}) > 1
        self.kinds = dict(words.kinds.values())
        self.usual = usual_days(words)

    def strips(self) -> Iterator[OwnStrip]:
        """The usual days first, week by week; then days of another kind that come out differently."""
        for title, some in by_weeks(list(self.usual)):
            drawn = tuple(self.day(day, self.usual[day], named=True) for day in some)
            yield OwnStrip(title, drawn, sum(day.minutes for day in drawn))
        for kind, some_days in groupby(other_days(self.words), key=lambda place: place[1]):
            others = [place for place in some_days if self._differs(*place, self.usual[place[0]])]
            if others:
                drawn = tuple(self.day(*place) for place in others)
                yield OwnStrip(capital(self.kinds[kind]), drawn, None, self.clashes_on(others))

    def _differs(self, day: str, kind: str, usual: str) -> bool:
        return [self._stretches(day, kind), self._school_day(kind)] != [
            self._stretches(day, usual),
            self._school_day(usual),
        ]

    def _stretches(self, cycle_day: str, kind: str) -> list[tuple[Stretch, Piece]]:
        found = [
            (Stretch(piece.start, piece.end, each.room.pk), piece)
            for each in self.classes
            for piece in each.pieces(cycle_day, kind)
        ]
        return sorted(found, key=lambda pair: pair[0])

    def _school_day(self, kind: str) -> Span | None:
        """From the first bell of the classes reached to their last, on a kind of day."""
        bells = [bell for each in self.classes if (bell := each.bells.get(kind) or each.bells.get(REGULAR))]
        return (min(bell.start for bell in bells), max(bell.dismissal for bell in bells)) if bells else None

    def day(self, cycle_day: str, kind: str, *, named: bool = False) -> OwnDay:
        stretches = self._stretches(cycle_day, kind)
        taken = [(stretch.start, stretch.end) for stretch, _ in stretches]
        at_once = clashes(stretch for stretch, _ in stretches)
        free = free_between(taken, self._school_day(kind) or (0, 0)) if taken else []
        return OwnDay(
            id=f"{cycle_day}-{kind}",
            title=capital(day_in_full(cycle_day)),
            kind=small(self.kinds[kind]) if named and kind != REGULAR else "",
            lines=tuple(self._lines(stretches, at_once, free)),
            minutes=lasting(taken),
            free=lasting(free),
            longest=max((end - start for start, end in free), default=0),
        )

    def clashes_on(self, days: Iterable[tuple[str, str]]) -> tuple[OwnClash, ...]:
        """The clashes of some days and kinds in order of time; those alike on several days told once."""
        alike: dict[tuple[Clash, str], list[str]] = {}
        for cycle_day, kind in days:
            stretches = [stretch for stretch, _ in self._stretches(cycle_day, kind)]
            for clash in clashes(stretches):
                alike.setdefault((clash, self._classes_said(clash, stretches)), []).append(cycle_day)
        return tuple(
            OwnClash(
                days=get_text_list([day_said(day) for day in some], "and")
                if some[1:]
                else capital(day_in_full(some[0])),
                count=len(some),
                times=said_span(clash.start, clash.end),
                length=clash.end - clash.start,
                classes=said,
                ask=self._ask_said(clash),
            )
            for (clash, said), some in alike.items()
        )

    def _lines(
        self, stretches: Sequence[tuple[Stretch, Piece]], at_once: Sequence[Clash], free: Iterable[Span]
    ) -> Iterator[OwnLine]:
        lines = [(span, OwnLine(said_span(*span), span[1] - span[0])) for span in free]
        ends: dict[int, int] = {}
        for stretch, piece in stretches:
            straight = ends.get(stretch.start)
            room = self.rooms[stretch.place]
            own = any(stretch.place in clash.places and _meet(stretch, clash) for clash in at_once)
            line = OwnLine(
                times=said_span(stretch.start, stretch.end),
                length=stretch.end - stretch.start,
                name=str(room),
                room=room.room,
                what=self._what(stretch.place, piece),
                note="" if straight in (None, stretch.place) else f"straight on from {self.rooms[straight or 0]}",
                pk=room.pk,
                clashes=own,
            )
            lines.append(((stretch.start, stretch.end), line))
            ends[stretch.end] = stretch.place
        yield from (line for _, line in sorted(lines, key=lambda pair: pair[0]))

    def _what(self, place: int, piece: Piece) -> str:
        """What is taught, where that does not go without saying: one of several, or part of the time."""
        activities = next(each.activities for each in self.classes if each.room.pk == place)
        mine = [credit for credit in piece.credits if credit.activity in activities]
        if sum(credit.minutes for credit in mine) < piece.end - piece.start or len(piece.credits) > 1:
            told = [f"{credit.minutes} minutes of {self.names[credit.activity]}" for credit in mine]
            return f"{get_text_list(told, 'and')} in it"
        return self.names[mine[0].activity] if self.several else ""

    def _classes_said(self, clash: Clash, stretches: Iterable[Stretch]) -> str:
        """Each class of a clash with its own times, unless they are those of the clash."""
        told = []
        for place in self._in_order(clash):
            own = [(one.start, one.end) for one in stretches if one.place == place and _meet(one, clash)]
            times = get_text_list([said_span(*span) for span in own], "and")
            told.append(
                str(self.rooms[place]) if own == [(clash.start, clash.end)] else f"{self.rooms[place]} ({times})"
            )
        return get_text_list(told, "and")

    def _ask_said(self, clash: Clash) -> str:
        """Whom to talk to: each once, by name; the office about a class that nobody has."""
        asked = [one for place in self._in_order(clash) for one in self.ask[place]]
        teaching = {one.name for one in asked if not one.leads}
        told = [f"{one.name} (who leads the team)" if one.name not in teaching else one.name for one in asked]
        nobodys = [str(self.rooms[place]) for place in self._in_order(clash) if not self.ask[place]]
        told += [f"the office about {get_text_list(nobodys, 'and')}"] if nobodys else []
        return get_text_list(list(dict.fromkeys(told)), "and")

    def _in_order(self, clash: Clash) -> list[int]:
        return sorted(clash.places, key=lambda place: str(self.rooms[place]))


def _meet(stretch: Stretch, clash: Clash) -> bool:
    return stretch.start < clash.end and clash.start < stretch.end
