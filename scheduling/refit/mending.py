"""Mending a week that falls short: up to five different smallest changes, each with the fewest blocks touched.

First blocks stay in their order, and what helps is made longer, shorter, or added in free time; then any block may
change places with another or go to another day as well. A mending differs from those before it by leaving at least
one block alone that each of them touches.
"""

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

from scheduling.refit.closing_in import Exactly, judged
from scheduling.refit.fitting import CannotHold, Fitting, Pass, Stop, cost_of
from scheduling.refit.model import Model
from scheduling.refit.problem import GRAIN, SHORTEST, Item, Place, Problem
from scheduling.refit.proposal import Proposal
from scheduling.refit.reckoning import lacking

SECONDS = 20.0
MOST = 5
FURTHER = 2
"""How many more blocks than the smallest change a further one may touch."""
PASSES: tuple[Pass, ...] = ("shortfall", "dropped", "touched", "advice", "moving")
FEW = 3
"""Among how many activities at most a missed demand may be met by a block that is added."""
Found = Callable[[Proposal], object]


def mend(
    problem: Problem,
    *,
    seconds: float = SECONDS,
    most: int = MOST,
    tell: Found | None = None,
    stop: Stop | None = None,
    exactly: Exactly | None = None,
) -> list[Proposal]:
    """Different smallest changes of a week, the smallest first; none if the rules cannot come nearer to being met.

    With `exactly` each is held against its own week, and one that then mends less than it seemed to is none.
    `tell` hears of each as it is found. A proposal's `proven` says that no other change of fewer blocks does as
    well; its `bound` is that of its moving.
    """
    began, stop = time.monotonic(), stop or Stop()
    wide = with_added(problem)
    before = cost_of(wide, _as_it_is(wide)).shortfall
    found: list[Proposal] = []
    seen: list[frozenset[int]] = []
    for any_order, share, at_most in ((False, 0.5, max(1, most - 2)), (True, 1.0, most)):
        ends = began + share * seconds
        while before and len(found) < at_most and time.monotonic() < ends and not stop.asked:
            one = _next(wide, found, seen, any_order=any_order, ends=ends, stop=stop)
            if one is None or one.cost.shortfall >= before:
                break
            seen.append(touched_by(one))
            if exactly is not None:
                held = judged(one, exactly)
                if held.cost.shortfall > one.cost.shortfall:
                    continue
                one = held
            if found and _worth(one) < _worth(found[0]):
                # What stays in order mends less, or by leaving more out: beside this it is no mending.
                found.clear()
            found.append(one)
            if tell is not None:
                tell(one)
    return sorted(found, key=lambda one: (len(touched_by(one)), one.cost.rank))


def _worth(one: Proposal) -> tuple[Fraction, int]:
    return one.cost.shortfall, one.cost.dropped


def with_added(problem: Problem) -> Problem:
    """The problem with a block of each activity that a missed demand asks for by itself or among a few, to be made
    on any day if it helps; what many activities can give, those that are there can."""
    missed = [one for one in lacking(problem, _as_it_is(problem)) if one.test != "at_most" and len(one.counts) <= FEW]
    added = []
    for number, day in enumerate(problem.days):
        wanted = {name for one in missed if any(number in need.days for need in one.needs) for name in one.counts}
        if day.free:
            first = day.free[0].start // GRAIN * GRAIN
            added += [
                Item(("added", number, activity), number, first, first, activity, SHORTEST, added=True)
                for activity in sorted(wanted)
            ]
    return replace(problem, items=(*problem.items, *added))


def touched_by(proposal: Proposal) -> frozenset[int]:
    """The items that a proposal leaves otherwise than the source has them."""
    pairs = enumerate(zip(proposal.places, _as_it_is(proposal.problem), strict=True))
    return frozenset(number for number, (place, before) in pairs if place != before)


def _next(
    problem: Problem,
    found: Sequence[Proposal],
    seen: Sequence[frozenset[int]],
    *,
    any_order: bool,
    ends: float,
    stop: Stop,
) -> Proposal | None:
    """The smallest change that is none of those found."""
    movable = range(len(problem.items)) if any_order else ()
    fitting = Fitting(problem, movable, time.monotonic(), ends, None, stop, any_order=any_order)
    _beside(fitting.model, found, seen)
    try:
        return fitting.run(PASSES, hint=_as_it_is(problem))
    except CannotHold:
        return None


def _beside(model: Model, found: Sequence[Proposal], seen: Sequence[frozenset[int]]) -> None:
    """Leave a model only what is worth showing beside the changes found: none of them, as good, and about as small."""
    for other in seen:
        model.cp.add(sum(model.touched[n] for n in other) <= len(other) - 1)
    if not found:
        return
    short, parts = model.shortfall(advice=False)
    model.cp.add(short <= int(found[0].cost.shortfall * parts))
    model.cp.add(model.dropped() <= min(one.cost.dropped for one in found))
    model.cp.add(model.touched_count() <= min(len(touched_by(one)) for one in found) + FURTHER)


def _as_it_is(problem: Problem) -> tuple[Place | None, ...]:
    return tuple(None if item.added else item.place for item in problem.items)
