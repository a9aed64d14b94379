"""When all of a team are free at once, in words: the day's times, the week's list, and who alone stands in the way."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from scheduling.common_time import (
    SHORTEST,
    Nearly,
    common_time,
    longest_together,
    minutes_together,
    nearly_common,
)
from scheduling.minutes.figures import listed
from scheduling.selectors.team_rooms import TeamRoom, planned
from scheduling.selectors.year_days import Day, by_weeks, usual_days
from scheduling.selectors.year_words import YearWords, capital, day_in_full, day_said
from scheduling.specialist_day import Span, lasting
from teamroom.common.clock import said_span
from teamroom.common.wording import counted

CHOICES = (10, 15, 20, 30, 45, 60)
"""Minutes of the shortest time to show, to choose from."""
MOST_NEARLY = 8
MOST_PAIRS = 6


@dataclass(frozen=True, slots=True)
class Band:
    """A time that all have, on the axis and in words."""

    start: int
    length: int
    times: str


@dataclass(frozen=True, slots=True)
class DayTime:
    """A day with the times that all have, and how many minutes those come to."""

    place: Day
    title: str
    bands: tuple[Band, ...]
    minutes: int


@dataclass(frozen=True, slots=True)
class TimeStrip:
    """Days that belong together, with the minutes of all of them."""

    title: str
    days: tuple[DayTime, ...]
    minutes: int


@dataclass(frozen=True)
class CommonTime:
    """The team's common planning time on its usual days. `without` names classrooms that have no week on the
    date and are left out; nothing is told (`why_none`) where it cannot be worked out."""

    strips: tuple[TimeStrip, ...] = ()
    nearly: tuple[str, ...] = ()
    pairs: tuple[str, ...] = ()
    without: str = ""
    why_none: str = ""
    shortest: int = SHORTEST
    more_nearly: int = 0

    @property
    def minutes(self) -> int:
        return sum(strip.minutes for strip in self.strips)

    def on(self, place: Day) -> tuple[Band, ...]:
        """The times of one of the usual days."""
        return next((day.bands for strip in self.strips for day in strip.days if day.place == place), ())


FEW, NOBODY = "few", "nobody"


def common_of(rooms: Sequence[TeamRoom], words: YearWords, shortest: int = SHORTEST) -> CommonTime:
    """What there is to say of a team's common time, no stretch shorter than `shortest` minutes."""
    with_week = list(planned(rooms))
    without = listed([str(each.room) for each in rooms if not each.week])
    if len(with_week) < 2:
        return CommonTime(without=without, why_none=FEW, shortest=shortest)
    if not any(each.freeing for each in with_week):
        return CommonTime(without=without, why_none=NOBODY, shortest=shortest)
    return _Telling(with_week, words, shortest).told(without)


def bands_on(rooms: Sequence[TeamRoom], place: Day, shortest: int = SHORTEST) -> tuple[Band, ...]:
    """The times that all have on one day of a kind, usual or not; none for fewer than two classrooms."""
    freed = {each.room.pk: each.freed(place) for each in planned(rooms)}
    return bands(common_time(freed, shortest)) if len(freed) > 1 else ()


def bands(spans: Iterable[Span]) -> tuple[Band, ...]:
    return tuple(Band(start, end - start, said_span(start, end)) for start, end in spans)


class _Telling:
    """The usual days of a team, worked out once."""

    def __init__(self, rooms: Sequence[TeamRoom], words: YearWords, shortest: int) -> None:
        self.rooms = {each.room.pk: each for each in rooms}
        self.words, self.shortest = words, shortest
        self.usual = usual_days(words)
        self.freed: dict[Day, Mapping[int, list[Span]]] = {
            place: {pk: each.freed(place) for pk, each in self.rooms.items()} for place in self.usual.items()
        }

    def told(self, without: str) -> CommonTime:
        strips = tuple(
            TimeStrip(title, days, sum(day.minutes for day in days))
            for title, some in by_weeks(list(self.usual))
            for days in [tuple(self._day(day) for day in some)]
        )
        nearly = list(self._nearly())
        return CommonTime(
            strips=strips,
            nearly=tuple(nearly[:MOST_NEARLY]),
            pairs=() if any(strip.minutes for strip in strips) else tuple(self._pairs()),
            without=without,
            shortest=self.shortest,
            more_nearly=max(0, len(nearly) - MOST_NEARLY),
        )

    def _day(self, day: str) -> DayTime:
        place = day, self.usual[day]
        spans = common_time(self.freed[place], self.shortest)
        return DayTime(place, capital(day_in_full(day)), bands(spans), lasting(spans))

    def _nearly(self) -> Iterator[str]:
        """Each time that one classroom alone stands in the way of, alike ones of several days together."""
        alike: dict[tuple[int, int, int, str], list[str]] = {}
        for place, freed in self.freed.items():
            for one in nearly_common(freed, self.shortest):
                alike.setdefault((one.start, one.end, one.place, self._by_what(one, place)), []).append(place[0])
        for (start, end, room, what), days in alike.items():
            when = listed([day_said(day) for day in days]) if days[1:] else capital(day_in_full(days[0]))
            name = self.rooms[room].room
            yield f"{when} {said_span(start, end)}, {end - start} minutes: all but {name}, which has {what}."

    def _by_what(self, one: Nearly, place: Day) -> str:
        """What the classroom that stands in the way has then: `Mathematics 9:00-9:40`."""
        each = self.rooms[one.place]
        told = [
            f"{self._named(piece.credits)} {said_span(piece.start, piece.end)}"
            for piece in each.pieces(place)
            if any(piece.start < end and start < piece.end for start, end in one.in_the_way)
        ]
        return listed(told) or "nothing planned then"

    def _named(self, credits: Iterable[tuple[str, int]]) -> str:
        names = dict.fromkeys(self.words.by_key[activity].name for activity, _ in credits)
        return " with ".join(names) or "time"

    def _pairs(self) -> Iterator[str]:
        """Which two are free together longest, where all never are."""
        told = minutes_together(self.freed.values(), self.shortest)
        for one, other in longest_together(told)[:MOST_PAIRS]:
            names = listed([str(self.rooms[pk].room) for pk in (one, other)])
            yield f"{names}, {counted(told[one, other], 'minute')} {self._in_all}"

    @property
    def _in_all(self) -> str:
        kind = self.words.cycle.kind
        if kind == "weekdays":
            return "a week"
        return "in both weeks" if kind == "alternating weeks" else f"in the {len(self.usual)} days"
