"""Rules read into demands on the columns of a week: how often each column counts in each window, and what is asked.

What no placing of blocks decides is a plain number. The school's fixed stretches are exact. A day that a day change
interrupts, or that another kind of day cuts short, counts in a month or a year like its column, less all of what it
loses, so that a year is never thought better than it is; shorter windows with such a day are left to the readings.
So is what a rule asks of neighbouring blocks (`not_beside`, sittings that join): each block is seen by itself here.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from scheduling.minutes.measure import asked_windows, divisor_of, required_of
from scheduling.minutes.plan import Bell, ClassroomPlan
from scheduling.minutes.rules import Part, Rule
from scheduling.minutes.year import DaySort, LikeWindows, Shape, changes_by_date
from scheduling.refit.problem import Choice, Day, Demand, Need
from teamroom.dates.calendar_maths import REGULAR

LONG = ("month", "year")
"""Windows in which a day out of the ordinary is one of many."""


@dataclass(frozen=True)
class Ground:
    """What demands are read on: the year's windows for the classroom, its bells, and the columns of its week."""

    shape: Shape
    plan: ClassroomPlan
    days: Sequence[Day]

    def column_of(self, sort: DaySort) -> int | None:
        """The column that governs a sort of day; None if none does."""
        places = {(day.day, day.kind): n for n, day in enumerate(self.days)}
        for place in ((sort.cycle_day, sort.kind), ("", sort.kind), (sort.cycle_day, REGULAR)):
            if place in places:
                return places[place]
        return None

    def is_cut(self, sort: DaySort, column: int) -> bool:
        """Whether a sort of day shows its column other than it is: cut short by its kind, or by a day change."""
        return sort.changed is not None or (self.days[column].kind != sort.kind and sort.kind in self.plan.bells)

    def lost(self, sort: DaySort, column: int) -> int:
        """Minutes a day loses of its column at most."""
        changes = changes_by_date(self.plan).get(sort.changed, []) if sort.changed else []
        own, usual = self.plan.bells.get(sort.kind), self.plan.bells.get(self.days[column].kind)
        shorter = _length(usual) - _length(own) if own and usual and self.days[column].kind != sort.kind else 0
        return max(shorter, 0) + sum(change.end - change.start for change in changes)

    def fixed(self, column: int, counts: frozenset[str]) -> int:
        """Minutes of some activities that the school fixes in a column."""
        day = self.days[column]
        bell = self.plan.bells.get(day.kind) or self.plan.bells.get(REGULAR)
        stretches = bell.fixed if bell else ()
        return sum(
            one.end - one.start
            for one in stretches
            if one.activity in counts and (one.days is None or not day.day or day.day in one.days)
        )


def demands_of(
    rules: Iterable[Rule], ground: Ground, activities: Iterable[str]
) -> tuple[tuple[Demand, ...], tuple[Choice, ...]]:
    """The demands of rules that can be checked, and which of them are alternatives of one rule."""
    known = frozenset(activities)
    demands: list[Demand] = []
    choices: list[Choice] = []
    for rule in rules:
        parts = (_demand(rule, n, part, ground, known) for n, part in enumerate(rule.parts))
        found = [demand for demand in parts if demand is not None]
        if rule.any_of and len(found) > 1:
            choices.append(Choice(tuple((len(demands) + n,) for n in range(len(found)))))
        demands += found
    return tuple(demands), tuple(choices)


def _demand(rule: Rule, number: int, part: Part, ground: Ground, known: frozenset[str]) -> Demand | None:
    counts = frozenset(one for one in known if one in part.pool)
    base = frozenset(one for one in known if part.test.of is not None and one in part.test.of)
    needs = {repr(need): need for need in _needs(rule, part, ground, counts, base)}
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
    )


def _needs(rule: Rule, part: Part, ground: Ground, counts: frozenset[str], base: frozenset[str]) -> Iterator[Need]:
    for like, required in asked_windows(ground.shape, rule, part):
        days: dict[int, int] = {}
        fixed = fixed_base = 0
        for number, times in like.bag:
            sort = ground.shape.sorts[number]
            column = ground.column_of(sort)
            if column is None:
                continue
            cut = ground.is_cut(sort, column)
            if cut and part.window.kind not in LONG:
                break
            days[column] = days.get(column, 0) + times
            fixed += times * (ground.fixed(column, counts) - (ground.lost(sort, column) if cut else 0))
            fixed_base += times * ground.fixed(column, base)
        else:
            if days:
                yield Need(days, required, fixed, fixed_base, divisor_of(part, like), _caps(part, like))


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


def _length(bell: Bell | None) -> int:
    return bell.dismissal - bell.start if bell else 0
