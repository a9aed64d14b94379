"""Weeks of several classrooms fitted together: what they share is never wanted by more of them at once than there is.

Each classroom is fitted by itself first, as if it had all that is shared to itself. What comes of that is the bound: no
set of weeks costs less. Where those weeks clash, the classrooms are fitted one after the other around those that have
their week already, in one order after another, until the bound is reached or time ends.
"""

import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass, replace
from fractions import Fraction

from scheduling.refit.fitting import Stop, fit
from scheduling.refit.problem import Place, Problem, Shared, Taken
from scheduling.refit.proposal import Proposal

SECONDS = 20.0
ALONE = 0.6
"""The share of the time in which each classroom is fitted by itself."""
AT_A_TIME = 2
Rank = tuple[Fraction, Fraction, int, int, int, int]
Weeks = tuple[Proposal, ...]


@dataclass(frozen=True)
class TeamProposal:
    """A week for each classroom, in the order of their problems. `bound` is what they cost at least together, in the
    order in which costs count, where that is proven; `proven` says that they cost no more than that."""

    weeks: Weeks
    bound: Rank | None
    proven: bool
    seconds: float

    @property
    def rank(self) -> Rank:
        return total(self.weeks)

    @property
    def gap(self) -> float:
        """How much more has to move than the bound, as a share of it; infinite where more than that differs, or no
        bound is proven."""
        if self.bound is None or self.rank[:-1] != self.bound[:-1]:
            return float("inf")
        return (self.rank[-1] - self.bound[-1]) / max(1, self.bound[-1])


Tell = Callable[[TeamProposal], object]


def fit_team(
    problems: Sequence[Problem], *, seconds: float = SECONDS, tell: Tell | None = None, stop: Stop | None = None
) -> TeamProposal | None:
    """The best weeks found for several classrooms; None if one of them has none.

    Each problem's `shared` says what its own blocks need and what classrooms that are not among these have; days are
    the same where their day and kind are.
    """
    began, stop = time.monotonic(), stop or Stop()
    ends = began + seconds
    best: TeamProposal | None = None

    def told(weeks: Weeks, bound: Rank | None, *, proven: bool) -> None:
        nonlocal best
        found = TeamProposal(weeks, bound, proven, time.monotonic() - began)
        if best is None or found.rank < best.rank or (found.rank == best.rank and found.proven):
            best = found
            if tell is not None:
                tell(found)

    # A first set of weeks at once, so that there is something to take.
    first = _in_order(problems, range(len(problems)), {}, min(2.0, seconds / 4), stop)
    if first is not None:
        told(first, None, proven=False)
    alone = _each_alone(problems, ALONE * (ends - time.monotonic()), stop)
    proven = len(alone) == len(problems) and all(one.proven for one in alone.values())
    bound = total(alone.values()) if proven else None
    if best is not None:
        best = replace(best, bound=bound, proven=best.rank == bound)
    for order in _orders(len(problems)):
        left = ends - time.monotonic()
        if left <= 0 or stop.asked or (best is not None and best.gap <= 0):
            break
        weeks = _in_order(problems, order, alone, left, stop)
        if weeks is not None:
            told(weeks, bound, proven=total(weeks) == bound)
    return best


def total(weeks: Iterable[Proposal]) -> Rank:
    """What several weeks cost together."""
    ranks = [one.cost.rank for one in weeks]
    short, advice = (sum((Fraction(rank[n]) for rank in ranks), Fraction(0)) for n in (0, 1))
    wishes, dropped, moved, moving = (sum(int(rank[n]) for rank in ranks) for n in (2, 3, 4, 5))
    return short, advice, wishes, dropped, moved, moving


def _each_alone(problems: Sequence[Problem], seconds: float, stop: Stop) -> dict[int, Proposal]:
    """Each classroom's week as if it had all that is shared to itself, two at a time: the solver leaves Python alone
    meanwhile, and one worker each keeps the answers the same."""
    each = seconds * AT_A_TIME / len(problems)
    with ThreadPoolExecutor(AT_A_TIME) as pool:
        # A stop of their own, as each holds the solver that it ends.
        stops = [Stop() for _ in problems]
        work = [pool.submit(fit, problem, seconds=each, stop=own) for problem, own in zip(problems, stops, strict=True)]
        while not all(one.done() for one in work):
            wait(work, timeout=0.2)
            if stop.asked:
                for own in stops:
                    own.ask()
    return {number: week for number, one in enumerate(work) if (week := one.result()) is not None}


def _orders(count: int) -> Iterator[list[int]]:
    """Each classroom first once, and once more from behind."""
    for step in (1, -1):
        for first in range(count):
            yield [(first + step * n) % count for n in range(count)]


def _in_order(
    problems: Sequence[Problem], order: Iterable[int], alone: dict[int, Proposal], seconds: float, stop: Stop
) -> Weeks | None:
    """A week for each, one after the other: its own where nothing clashes with those before, else one around them."""
    ends, weeks = time.monotonic() + seconds, dict[int, Proposal]()
    for turn, number in enumerate(order):
        around = _around(problems[number], [(problems[n], week.places) for n, week in weeks.items()])
        own = alone.get(number)
        if own is not None and not clashes(around, own.places):
            weeks[number] = own
            continue
        left = (ends - time.monotonic()) / (len(problems) - turn)
        found = fit(around, seconds=max(left, 0.2), stop=stop)
        if found is None:
            return None
        weeks[number] = found
    return tuple(weeks[number] for number in range(len(problems)))


def _around(problem: Problem, others: Sequence[tuple[Problem, Sequence[Place | None]]]) -> Problem:
    """A problem in which what others' weeks have of what is shared is taken."""
    numbers = {(day.day, day.kind): number for number, day in enumerate(problem.days)}
    shared = []
    for one in problem.shared:
        taken = list(one.taken)
        for other, places in others:
            for theirs in (them for them in other.shared if them.key == one.key):
                for item, amount in theirs.needed.items():
                    place = places[item]
                    day = (
                        None if place is None else numbers.get((other.days[place.day].day, other.days[place.day].kind))
                    )
                    if place is not None and day is not None:
                        taken.append(Taken(day, place.start, place.end, amount))
        shared.append(replace(one, taken=tuple(taken)))
    return replace(problem, shared=tuple(shared))


def clashes(problem: Problem, places: Sequence[Place | None]) -> bool:
    """Whether a week wants more of something than others leave of it, at any time."""
    return any(_clash(one, places) for one in problem.shared)


def _clash(shared: Shared, places: Sequence[Place | None]) -> bool:
    own = [(place, amount) for n, amount in shared.needed.items() if (place := places[n]) is not None]
    wanted = [*shared.taken, *(Taken(place.day, place.start, place.end, amount) for place, amount in own)]
    for place, _ in own:
        for at in {one.start for one in wanted if place.start <= one.start < place.end} | {place.start}:
            there = sum(one.amount for one in wanted if one.day == place.day and one.start <= at < one.end)
            if there > shared.capacity:
                return True
    return False
