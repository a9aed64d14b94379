"""Rules read into demands on the columns of a week: how often each column counts in each window, and what is asked.

What no placing of blocks decides is a plain number: the school's fixed stretches, days governed by the classroom's
earlier weeks, what day changes credit. A day that a day change interrupts, or that another kind of day cuts short,
shows its column other than it is. In a month or a year it counts like its column; what it then has too much is
taken off as a number too: all that it may lose while no week is known, so that a year is never thought better than
it is, and exactly what it loses of a week once one is known (`held_against`). Shorter windows with such a day, or
with a day of another week, are left to the readings: nobody wants one odd week mended by all others.

So is what a rule asks of neighbouring blocks (`not_beside`, sittings that join): each block is seen by itself here.
"""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from math import floor
from typing import NamedTuple

from scheduling.minutes.layout import without
from scheduling.minutes.measure import asked_windows, base_minutes, counted_minutes, divisor_of, required_of
from scheduling.minutes.plan import ClassroomPlan, Column, Version
from scheduling.minutes.readings import ClassroomYear
from scheduling.minutes.rules import Part, Rule
from scheduling.minutes.year import DaySort, LikeWindows, Shape, Year, changes_by_date
from scheduling.refit.problem import Choice, Day, Demand, Item, Need, Place, Windows
from scheduling.refit.reckoning import counted_on, lacking_in, pooled
from teamroom.dates.calendar_maths import REGULAR

LONG = ("month", "year")
"""Windows in which a day out of the ordinary is one of many."""
Placed = Sequence[tuple[Item, Place]]


@dataclass(frozen=True)
class Ground:
    """What demands are read on: a classroom's year with an empty week in effect from `starts` on, whatever comes
    later, and the columns that this week is to have; `usual` gives the kind that a day usually is of."""

    year: Year
    plan: ClassroomPlan
    starts: dt.date
    days: Sequence[Day]
    usual: Mapping[str, str]
    rules: Sequence[Rule]
    activities: frozenset[str]

    def book(self, columns: tuple[Column, ...] = ()) -> ClassroomYear:
        """The classroom's year with some columns as the week."""
        others = [one for one in self.plan.versions if one.starts < self.starts]
        versions = [*sorted(others, key=lambda one: one.starts), Version(self.starts, columns)]
        return ClassroomYear(self.year, replace(self.plan, versions=tuple(versions)))

    @cached_property
    def bare(self) -> ClassroomYear:
        return self.book()

    @property
    def shape(self) -> Shape:
        return self.bare.shape

    def of(self, part: Part) -> "Ground":
        """The ground a part is judged on: for a day or a week, as if the week were in effect all year, so that it is
        asked of however late it begins; a month and a year hold what the classroom's earlier weeks gave as well."""
        return self if part.window.kind in LONG else self._all_year

    @cached_property
    def _all_year(self) -> "Ground":
        return replace(self, plan=replace(self.plan, versions=()), starts=self.year.first_day)

    @cached_property
    def version(self) -> int:
        """The number of the fitted week among the classroom's."""
        return sum(one.starts < self.starts for one in self.plan.versions)

    def column_of(self, sort: DaySort) -> int | None:
        """The column that governs a sort of day; None if none does, or another week."""
        if sort.version != self.version:
            return None
        places = {(day.day, day.kind): n for n, day in enumerate(self.days)}
        for place in ((sort.cycle_day, sort.kind), ("", sort.kind), (sort.cycle_day, REGULAR)):
            if place in places:
                return places[place]
        return None

    @cached_property
    def unusual(self) -> frozenset[int]:
        """The columns of no usual day."""
        return frozenset(n for n, day in enumerate(self.days) if self.usual.get(day.day) not in (day.kind, None))

    def is_cut(self, sort: DaySort, column: int) -> bool:
        """Whether a sort of day shows its column other than it is: cut short by its kind, or by a day change."""
        return sort.changed is not None or (self.days[column].kind != sort.kind and sort.kind in self.plan.bells)

    def lost(self, sort: DaySort, column: int) -> int:
        """Minutes of its free time that a day may lose of its column at most."""
        day, gone = self.days[column], []
        if sort.kind != day.kind and (bell := self.plan.bells.get(sort.kind)) is not None:
            gone += [(0, bell.start), (bell.dismissal, 24 * 60)]
        if sort.changed is not None:
            gone += [(change.start, change.end) for change in changes_by_date(self.plan).get(sort.changed, [])]
        left = [span for free in day.free for span in without((free.start, free.end), sorted(gone))]
        return sum(free.end - free.start for free in day.free) - sum(end - start for start, end in left)


class Read(NamedTuple):
    """Like windows of a part with what they ask of the columns, and of which sort they are."""

    like: LikeWindows
    need: Need
    windows: Windows


def demands_of(ground: Ground) -> tuple[tuple[Demand, ...], tuple[Choice, ...]]:
    """The demands of rules that can be checked, and which of them are alternatives of one rule. Windows with a day
    of an unusual kind make a demand of their own, so that the worst of them hides no usual one."""
    demands: list[Demand] = []
    choices: list[Choice] = []
    sorts: tuple[Windows, ...] = ("usual", "unusual")
    for rule in ground.rules:
        for windows in sorts:
            parts = (_demand(rule, n, part, ground, windows) for n, part in enumerate(rule.parts))
            found = [demand for demand in parts if demand is not None]
            if rule.any_of and len(found) > 1:
                choices.append(Choice(tuple((len(demands) + n,) for n in range(len(found)))))
            demands += found
    return tuple(demands), tuple(choices)


def held_against(demands: Iterable[Demand], ground: Ground, placed: Placed, week: tuple[Column, ...]) -> list[Demand]:
    """The same demands with what days out of the ordinary lose exactly as they lose it of one week: what is
    reckoned of that week is then what it really gives. `week` holds what `placed` does."""
    rules = {rule.key: rule for rule in ground.rules}
    books: dict[int, ClassroomYear] = {}
    held = []
    for demand in demands:
        rule = rules[demand.rule]
        own = ground.of(rule.parts[demand.part])
        if id(own) not in books:
            books[id(own)] = own.book(week)
        held.append(_held_against(demand, rule, own, placed, books[id(own)]))
    return held


def odd_windows_met(ground: Ground, placed: Placed, week: tuple[Column, ...]) -> list[Demand]:
    """Demands of the short windows with a day out of the ordinary that a week meets, so that no change breaks them."""
    found = []
    for rule in ground.rules:
        parts = () if rule.any_of else enumerate(rule.parts)
        odd = [demand for n, part in parts if (demand := _demand(rule, n, part, ground, "odd")) is not None]
        for demand in held_against(odd, ground, placed, week):
            if demand.test not in ("days_met", "unbroken"):
                met = tuple(need for need in demand.needs if lacking_in(demand, need, placed) <= 0)
                found.append(replace(demand, needs=met))
    return [demand for demand in found if demand.needs]


def _held_against(demand: Demand, rule: Rule, ground: Ground, placed: Placed, book: ClassroomYear) -> Demand:
    part = rule.parts[demand.part]
    is_exact = part.window.kind not in LONG and demand.windows != "odd"
    if is_exact or demand.test in ("days_met", "unbroken"):
        return demand
    tallies = book.tallies(part)
    needs = {}
    for like, need, windows in _read(rule, part, ground, demand.counts, demand.base):
        if windows != demand.windows:
            continue
        bare = replace(need, fixed=0)
        less = 0 if demand.test != "share" else base_minutes(like, tallies) - _base(demand, need, placed)
        fixed = _whole(counted_minutes(part, like, tallies) - counted_on(demand, bare, placed))
        exact = replace(need, fixed=fixed, fixed_base=less)
        needs[repr(exact)] = exact
    return replace(demand, needs=tuple(needs.values()))


def _base(demand: Demand, need: Need, placed: Placed) -> int:
    return sum(need.days.get(place.day, 0) * pooled(item, place, demand.base) for item, place in placed)


def _demand(rule: Rule, number: int, part: Part, ground: Ground, windows: Windows) -> Demand | None:
    counts = frozenset(one for one in ground.activities if one in part.pool)
    base = frozenset(one for one in ground.activities if part.test.of is not None and one in part.test.of)
    read = _read(rule, part, ground, counts, base)
    needs = {repr(one.need): one.need for one in read if one.windows == windows}
    if not needs:
        return None
    return Demand(
        rule=rule.key,
        part=number,
        test=part.test.kind,
        counts=counts,
        needs=tuple(needs.values()),
        base=base,
        minutes=part.test.minutes,
        sitting=part.sitting,
        sitting_caps=part.sitting_caps,
        day_caps=part.day_caps,
        windows=windows,
    )


def _read(rule: Rule, part: Part, ground: Ground, counts: frozenset[str], base: frozenset[str]) -> Iterator[Read]:
    ground = ground.of(part)
    tallies = ground.bare.tallies(part)
    counted = part.test.kind not in ("days_met", "unbroken")
    for like, required in asked_windows(ground.shape, rule, part):
        days = _days(like, ground)
        if not days:
            continue
        need = Need(
            days,
            required,
            fixed=_fixed(part, like, ground) - (_lost(like, ground) if counts and counted else 0),
            fixed_base=base_minutes(like, tallies) if part.test.kind == "share" else 0,
            divisor=divisor_of(part, like),
            given=_given(part, like, ground) if part.test.kind == "days_met" else {},
            caps=_caps(part, like),
        )
        yield Read(like, need, _sort_of(part, like, days, ground))


def _days(like: LikeWindows, ground: Ground) -> dict[int, int]:
    """How often each column counts in a window."""
    days: dict[int, int] = {}
    for number, times in like.bag:
        column = ground.column_of(ground.shape.sorts[number])
        if column is not None:
            days[column] = days.get(column, 0) + times
    return days


def _sort_of(part: Part, like: LikeWindows, days: Collection[int], ground: Ground) -> Windows:
    if part.window.kind in LONG:
        return "usual"
    for number, _ in like.bag:
        sort = ground.shape.sorts[number]
        column = ground.column_of(sort)
        if sort.version != ground.version or (column is not None and ground.is_cut(sort, column)):
            return "odd"
    return "usual" if ground.unusual.isdisjoint(days) else "unusual"


def _fixed(part: Part, like: LikeWindows, ground: Ground) -> int:
    """Minutes (or days) that count in a window without any block of the week."""
    bare = ground.bare.tallies(part)
    if part.test.kind == "unbroken":
        return max((bare.longest[sort] for sort, _ in like.bag), default=0)
    if part.test.kind == "days_met":
        others = [(sort, times) for sort, times in like.bag if ground.column_of(ground.shape.sorts[sort]) is None]
        return sum(times for sort, times in others if bare.free[sort] >= part.test.minutes)
    return _whole(counted_minutes(part, like, bare))


def _given(part: Part, like: LikeWindows, ground: Ground) -> dict[int, int]:
    """What the school's fixed stretches give a part on a column's ordinary days."""
    bare, given = ground.bare.tallies(part), {}
    for number, _ in like.bag:
        sort = ground.shape.sorts[number]
        column = ground.column_of(sort)
        if column is not None and not ground.is_cut(sort, column):
            given[column] = bare.free[number]
    return given


def _lost(like: LikeWindows, ground: Ground) -> int:
    total = 0
    for number, times in like.bag:
        sort = ground.shape.sorts[number]
        column = ground.column_of(sort)
        if column is not None and ground.is_cut(sort, column):
            total += times * ground.lost(sort, column)
    return total


def _whole(minutes: Fraction | int) -> int:
    """Minutes rounded down: a cap by share may leave parts of one."""
    return floor(minutes)


def _caps(part: Part, like: LikeWindows) -> Mapping[str, Fraction]:
    """The most each activity counts in a window, by caps that span days."""
    found: dict[str, Fraction] = {}
    for activity, at_most in part.week_caps.items():
        found[activity] = Fraction(at_most * len(like.weeks))
    for activity, at_most in part.year_caps.items():
        found[activity] = min(found.get(activity, Fraction(at_most)), Fraction(at_most))
    for cap in part.share_caps:
        most = cap.share * Fraction(required_of(part, like)) * Fraction(divisor_of(part, like))
        found[cap.activity] = min(found.get(cap.activity, most), most)
    return found
