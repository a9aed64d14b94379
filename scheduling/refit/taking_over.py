"""What a fitting is asked, put together for one classroom: a week taken over, mended, or made from nothing."""

import datetime as dt
from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from scheduling.minutes.layout import without
from scheduling.minutes.plan import Bell, Block, ClassroomPlan, Column, FixedStretch
from scheduling.minutes.rules import Rule
from scheduling.minutes.year import Year
from scheduling.refit.columns import Kinds, days_of, fixed_on, items_of, week_of
from scheduling.refit.demands import Ground, demands_of, held_against, odd_windows_met
from scheduling.refit.laying_out import laid_out
from scheduling.refit.problem import GRAIN, Day, Free, Item, Place, Problem, Wishes

FEW = 4
"""How many activities a rule may name at most for a week from nothing to give time to each of them."""
NO_WISHES = Wishes()


@dataclass(frozen=True)
class Target:
    """A classroom as a week is fitted to it: its plan with its other weeks, its year and rules, the kind that each
    day of the cycle usually is, and the date from which the week is to hold."""

    plan: ClassroomPlan
    year: Year
    rules: Sequence[Rule]
    usual: Kinds
    starts: dt.date

    @property
    def fixed(self) -> frozenset[str]:
        return frozenset(one.activity for bell in self.plan.bells.values() for one in bell.fixed)

    def fixed_on(self, day: Day) -> list[FixedStretch]:
        """What the school fixes on a day of the week."""
        return fixed_on(self.plan.bells.get(day.kind), day.day)

    @property
    def unusual_kinds(self) -> frozenset[str]:
        """The kinds of days that come on other days of the cycle than those that usually are of them."""
        return frozenset(day.kind for day in self.year.days if self.usual.get(day.cycle_day, day.kind) != day.kind)


@dataclass(frozen=True)
class Case:
    """A problem and the ground its demands were read on."""

    problem: Problem
    ground: Ground
    given: tuple[Item, ...] = ()
    """Blocks of the source that were not taken over, as the bells give them already."""

    def exactly(self, problem: Problem, places: Sequence[Place | None]) -> Problem:
        """A problem of this case with its demands held against one placed week, of which they are then exact."""
        placed = [(item, place) for item, place in zip(problem.items, places, strict=True) if place is not None]
        demands = held_against(problem.demands, self.ground, placed, week_of(problem, places))
        return replace(problem, demands=tuple(demands))


def taking_over(
    source: Sequence[Column],
    target: Target,
    *,
    keep: Collection[str] = (),
    own: Sequence[Column] = (),
    bells: Mapping[str, Bell] | None = None,
) -> Case:
    """A source week to be fitted to a target's bells and rules; `keep` names the days or activities wanted, or all.
    What the target's bells give already, as recess or a special, is not taken over as well; what the source's own
    `bells` gave and the target's do not is.

    `own` is the target's week as it is. Where only some of the source is wanted, what of it lies on other days or is
    of other activities stays: where it stands if it lies in free time and on the grid, else near to it.
    """
    days = tuple(days_of([*source, *own], target.plan.bells, target.usual))
    there = given_by_bells(days, [i for n, day in enumerate(days) for i in items_of(source, n, day)], target)
    source = with_what_bells_gave(source, bells or {}, target)

    def wanted(day: Day, item: Item) -> bool:
        return not keep or day.day in keep or item.activity in keep

    items: list[Item] = []
    held: dict[int, Place | None] = {}
    for number, day in enumerate(days):
        taken = [i for i in items_of(source, number, day) if wanted(day, i) and (i.key, i.day) not in there]
        stays = [item for item in items_of(own, number, day) if not wanted(day, item)] if keep else []
        for item in sorted([*taken, *stays], key=lambda one: one.start):
            if item in stays and _can_stay(item, day):
                held[len(items)] = item.place
            items.append(item)
    given = [item for n, day in enumerate(days) for item in items_of(source, n, day) if (item.key, item.day) in there]
    return replace(
        _case(days, items, target, held=held), given=tuple(item for item in given if wanted(days[item.day], item))
    )


def given_by_bells(days: Sequence[Day], items: Sequence[Item], target: Target) -> set[tuple[Hashable, int]]:
    """Which blocks of a source (by key and day) the target's bells give already, as recess or a special: of each
    activity as many as there are fixed stretches, those of the same day first."""
    fixed: dict[str, list[int]] = {}
    for number, day in enumerate(days):
        for one in target.fixed_on(day):
            fixed.setdefault(one.activity, []).append(number)
    given: set[tuple[Hashable, int]] = set()
    for activity, on in fixed.items():
        blocks = [item for item in items if item.activity == activity and not item.credits]
        for same_day in (True, False):
            for number in list(on):
                for item in blocks:
                    mine = item.day == number if same_day else days[item.day].kind == days[number].kind
                    if mine and (item.key, item.day) not in given:
                        given.add((item.key, item.day))
                        on.remove(number)
                        break
    return given


def with_what_bells_gave(source: Sequence[Column], bells: Mapping[str, Bell], target: Target) -> Sequence[Column]:
    """The source with a block for each fixed stretch that the target's bells do not have as well, so that a recess is
    not forgotten where the teacher places it. Of an activity that both fix the nearest in time are the same."""
    found = []
    for column in source:
        day = Day(column.day or "", column.kind, ())
        missing = fixed_on(bells.get(day.kind), day.day)
        for one in target.fixed_on(day):
            alike = [other for other in missing if other.activity == one.activity]
            if alike:
                missing.remove(min(alike, key=lambda other: abs(other.start - one.start)))
        made = [
            Block(one.start, one.end, one.activity, key=("fixed", n, one.activity)) for n, one in enumerate(missing)
        ]
        free = [one for one in made if not any(b.start < one.end and one.start < b.end for b in column.blocks)]
        found.append(replace(column, blocks=(*column.blocks, *free)))
    return tuple(found)


def as_it_is(own: Sequence[Column], target: Target) -> Case:
    """A classroom's week as it stands, to be mended: what it meets of odd windows it is to go on meeting."""
    days = tuple(days_of(own, target.plan.bells, target.usual))
    case = _case(days, [item for n, day in enumerate(days) for item in items_of(own, n, day)], target)
    standing = [(item, item.place) for item in case.problem.items]
    exact = case.exactly(case.problem, [place for _, place in standing])
    odd = odd_windows_met(case.ground, standing, week_of(exact, [place for _, place in standing]))
    return replace(case, problem=replace(exact, demands=(*exact.demands, *odd)))


def from_nothing(
    target: Target,
    *,
    activities: Collection[str] = (),
    wishes: Wishes = NO_WISHES,
    beside: Sequence[Column] = (),
    together: Collection[str] = (),
) -> Case:
    """A week laid out for a target's bells and rules alone, to be fitted; of some activities, or of those that the
    rules ask for by themselves or among a few.

    Activities of `together` are held at the times they have in another week, `beside`, where these are in free time.
    """
    days = tuple(days_of((), target.plan.bells, target.usual, target.unusual_kinds))
    chosen = set(activities) or asked_for(target.rules, target.fixed)
    case = _case(days, (), target, activities={*chosen, *together}, wishes=wishes)
    standing = [
        item
        for number, day in enumerate(days)
        for item in items_of(beside, number, day)
        if item.activity in together and not item.credits and _can_stay(item, day)
    ]
    open_days = tuple(_without(day, [item for item in standing if item.day == n]) for n, day in enumerate(days))
    chosen -= {item.activity for item in standing}
    made = [*laid_out(open_days, case.problem.demands, chosen, wishes), *standing]
    items = tuple(sorted(made, key=lambda item: item.place))
    held = {number: item.place for number, item in enumerate(items) if item in standing}
    return replace(case, problem=replace(case.problem, items=items, held=held))


def _without(day: Day, items: Sequence[Item]) -> Day:
    """A day with the time of some blocks taken out of what is free."""
    taken = [(item.start, item.end) for item in items]
    left = (span for free in day.free for span in without((free.start, free.end), sorted(taken)))
    return replace(day, free=tuple(Free(start, end) for start, end in left))


def asked_for(rules: Iterable[Rule], fixed: Collection[str] = ()) -> set[str]:
    """The activities that rules ask at least something of by themselves, and of what they ask of a few together
    all, unless one of them is there already or `fixed` by the school."""
    pools = [
        part.pool.activities
        for rule in rules
        for part in rule.parts
        if part.test.kind != "at_most" and not part.pool.except_ and len(part.pool.activities) <= FEW
    ]
    chosen: set[str] = set()
    for pool in sorted(pools, key=lambda one: (len(one), sorted(one))):
        if len(pool) == 1 or not pool & {*chosen, *fixed}:
            chosen |= pool
    return chosen


def _can_stay(item: Item, day: Day) -> bool:
    on_grid = item.start % GRAIN == 0 and item.end % GRAIN == 0
    return on_grid and any(free.start <= item.start and item.end <= free.end for free in day.free)


def _case(
    days: tuple[Day, ...],
    items: Sequence[Item],
    target: Target,
    *,
    activities: Collection[str] = (),
    held: Mapping[int, Place | None] | None = None,
    wishes: Wishes = NO_WISHES,
) -> Case:
    credited = {credit.activity for item in items for credit in item.credits}
    known = frozenset({*activities, *target.fixed, *credited, *(item.activity for item in items)})
    ground = Ground(target.year, target.plan, target.starts, days, target.usual, target.rules, known)
    demands, choices = demands_of(ground)
    problem = Problem(days, tuple(items), demands, choices, held=held or {}, wishes=wishes)
    return Case(problem, ground)
