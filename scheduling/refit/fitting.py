"""The passes of a fitting: least shortfall, then what is advised, then what is wished, then fewest blocks
dropped, then fewest on another day, then least moving.

Each pass fixes what it found before the next begins, and starts from the week the one before found.
First every block stays on its day. Only where that leaves something short or a block out may any block
go to another day, and the passes run once more.
"""

import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from ortools.sat.python import cp_model

from scheduling.refit.costs import moving, wishes
from scheduling.refit.model import Model, Sum, solver_for
from scheduling.refit.problem import GRAIN, Place, Problem
from scheduling.refit.proposal import Cost, Proposal
from scheduling.refit.reckoning import against_wishes, lacking, shortfalls

SECONDS = 20.0
SEARCHING = 0.6
"""The share of the time in which it is looked for which blocks go to another day; the rest is for moving least."""
A_PASS = 0.5
"""The share of the time left that any pass but the last may take."""
Tell = Callable[[Proposal], object]
"""Told of each better week as it is found."""
Pass = Literal["shortfall", "advice", "wishes", "dropped", "moved", "touched", "moving"]
PASSES: tuple[Pass, ...] = ("shortfall", "advice", "wishes", "dropped", "moved", "moving")
COSTS: Mapping[Pass, str] = {
    "shortfall": "shortfall",
    "advice": "advice",
    "wishes": "wishes",
    "dropped": "dropped",
    "moved": "moved_days",
    "moving": "moving",
}
Places = tuple[Place | None, ...]
Values = list[tuple[int, int, int]]
"""Each placed block's start, length and presence, as the solver has them."""


class CannotHold(Exception):
    """What is to be held cannot all be so: places overlap, or lie outside the day's free time."""


@dataclass
class Stop:
    """Asks a fitting to end; the best found so far is what comes of it. May be asked from another thread."""

    asked: bool = False
    solver: cp_model.CpSolver | None = None

    def ask(self) -> None:
        self.asked = True
        if self.solver is not None:
            self.solver.stop_search()


def fit(
    problem: Problem, *, seconds: float = SECONDS, tell: Tell | None = None, stop: Stop | None = None
) -> Proposal | None:
    """The best week for a problem, or the best found in so many seconds; None if none was found at all.
    CannotHold if what the problem holds cannot be so.

    The same problem gives the same week wherever every pass comes to its end in time.
    """
    began = time.monotonic()
    ends, stop = began + seconds, stop or Stop()
    staying = Fitting(problem, (), began, ends, tell, stop)
    found = staying.run(("shortfall", "advice", "wishes", "dropped"))
    if found is None:
        return None
    movable = could_mend(problem, found.places)
    if not movable:
        return staying.run(("moving",)) or found
    # First only what is left out or could help may go elsewhere, so that the rest stays; then any, for the proof.
    best, proven = found, False
    for some, until in ((helpful(problem, found.places), SEARCHING / 2), (movable, SEARCHING)):
        going = Fitting(problem, some, began, began + until * seconds, tell, stop)
        other = going.run(PASSES[:-1], best.places)
        if other is not None and other.cost.rank[:-1] < best.cost.rank[:-1]:
            best = other
        proven = going.proven
    if best is found:
        stayed = staying.run(("moving",)) or found
        return replace(stayed, proven=stayed.proven and proven)
    # First with each block on the day it was given, which is soon done; then, for the proof, on any.
    settled = _settled(best, began, ends, tell, stop) or best
    if not proven:
        return replace(settled, bound=0.0, proven=False)
    going.ends = ends
    last = going.run(("moving",), settled.places)
    return last if last is not None and last.cost.rank <= settled.cost.rank else replace(settled, proven=False)


def _settled(moved: Proposal, began: float, ends: float, tell: Tell | None, stop: Stop) -> Proposal | None:
    """The same blocks on the same days, with the least moving."""
    problem, places = moved.problem, moved.places
    elsewhere = [n for n, place in enumerate(places) if place is not None and place.day != problem.items[n].day]
    fitting = Fitting(problem, elsewhere, began, ends, tell, stop)
    for placed in fitting.all:
        place = places[placed.number]
        if place is not None:
            fitting.model.cp.add(placed.present == (place.day == placed.day))
    return fitting.run(PASSES, places)


def could_mend(problem: Problem, places: Places) -> set[int]:
    """The blocks that may go to another day: all but the held ones where something is left out or short."""
    left_out = any(
        place is None and n not in problem.held and not problem.items[n].added for n, place in enumerate(places)
    )
    if not left_out and not any(shortfalls(problem, places)) and not against_wishes(problem, places):
        return set()
    return {n for n in range(len(problem.items)) if n not in problem.held}


def helpful(problem: Problem, places: Places) -> set[int]:
    """The blocks of a week that are left out, and those that credit what it is short of; the held ones are none."""
    short = {activity for demand in lacking(problem, places) for activity in demand.counts}
    return {
        n
        for n, (item, place) in enumerate(zip(problem.items, places, strict=True))
        if n not in problem.held
        and not item.added
        and (place is None or not short.isdisjoint({item.activity, *(credit.activity for credit in item.credits)}))
    }


def _since(began: float) -> float:
    return time.monotonic() - began


class Fitting:
    """The passes over one model of a problem."""

    def __init__(
        self,
        problem: Problem,
        movable: Iterable[int],
        began: float,
        ends: float,
        tell: Tell | None,
        stop: Stop,
        *,
        any_order: bool = False,
    ) -> None:
        self.problem, self.tell, self.stop = problem, tell, stop
        self.began, self.ends = began, ends
        self.model = Model(problem, movable, any_order=any_order)
        self.all = (*self.model.placed, *self.model.guests)
        self.values: Values | None = None
        self.hint: Values | None = None
        self.bound = 0.0
        self.proven = True

    def run(
        self, passes: Sequence[Pass], start: Places | None = None, *, hint: Places | None = None
    ) -> Proposal | None:
        """Some passes in their order, begun from a week where one is known, or looked for near another.

        CannotHold if there is no such week.
        """
        if start is not None:
            self.values = self._as_values(start)
        self.hint = self._as_values(hint) if hint is not None else None
        for name in passes:
            cost = self._cost(name)
            if isinstance(cost, int):
                continue
            known = self._proposal(self.values).cost if self.values is not None else None
            if known is not None and name in COSTS and not getattr(known, COSTS[name]):
                # Nothing is less than none.
                self.model.cp.add(cost <= 0)
                self.bound = 0
            else:
                before = self.values
                if not self._minimise(name, cost, before or self.hint):
                    break
                if before is not None and known is not None and not self._is_better(name, known):
                    # A week that is no better in this is kept from being another one for nothing.
                    self.values = before
        return self._proposal(self.values) if self.values is not None else None

    def _is_better(self, name: Pass, known: Cost) -> bool:
        """Whether the week just found costs less of a pass than the one it began from."""
        if self.values is None or name not in COSTS:
            return True
        return bool(getattr(self._proposal(self.values).cost, COSTS[name]) < getattr(known, COSTS[name]))

    def _cost(self, name: Pass) -> Sum:
        if name in ("shortfall", "advice"):
            return self.model.shortfall(advice=name == "advice")[0]
        costs: dict[str, Callable[[], Sum]] = {
            "wishes": lambda: wishes(self.model),
            "dropped": self.model.dropped,
            "moved": self.model.moved_days,
            "touched": self.model.touched_count,
            "moving": lambda: moving(self.model),
        }
        return costs[name]()

    def _minimise(self, name: Pass, cost: Sum, hint: Values | None) -> bool:
        """One pass; False once there is no time for another."""
        cp = self.model.cp
        left = self.ends - time.monotonic()
        if left <= 0 or self.stop.asked:
            self.proven = False
            return False
        # No pass but the last takes all there is, or a hard one would leave the blocks where the first week had them.
        solver = solver_for(left if name == "moving" else max(A_PASS * left, min(left, 1.0)))
        cp.clear_objective()  # type: ignore[no-untyped-call]
        cp.minimize(cost)
        cp.clear_hints()  # type: ignore[no-untyped-call]
        for placed, (start, length, present) in zip(self.all, hint or (), strict=False):
            cp.add_hint(placed.start, start)
            cp.add_hint(placed.length, length)
            cp.add_hint(placed.present, present)
        self.stop.solver = solver
        status = solver.solve(cp, _Watch(self))
        if status == cp_model.INFEASIBLE:
            raise CannotHold
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self.proven = False
            return False
        self.values = [
            (solver.value(one.start), solver.value(one.length), solver.value(one.present)) for one in self.all
        ]
        # Only the last pass is in minutes of moving; before it nothing is known of them.
        self.bound = solver.best_objective_bound * GRAIN if name == "moving" else 0.0
        self.proven &= status == cp_model.OPTIMAL
        cp.add(cost <= round(solver.objective_value))
        return True

    def found(self, value: Callable[[Any], int]) -> None:
        """A better week of the pass that runs."""
        if self.tell is not None:
            self.tell(self._proposal([(value(one.start), value(one.length), value(one.present)) for one in self.all]))

    def _as_values(self, places: Places) -> Values:
        """A known week as the solver's values; a block elsewhere than a variable's day has no length there."""
        found = []
        for placed in self.all:
            place = places[placed.number]
            if place is not None and place.day == placed.day:
                found.append((place.start // GRAIN, (place.end - place.start) // GRAIN, 1))
            else:
                found.append((placed.item.start // GRAIN, 0, 0))
        return found

    def _proposal(self, values: Values) -> Proposal:
        places: list[Place | None] = [None] * len(self.problem.items)
        for placed, (start, length, present) in zip(self.all, values, strict=True):
            if present:
                places[placed.number] = Place(placed.day, start * GRAIN, (start + length) * GRAIN)
        return Proposal(
            problem=self.problem,
            places=tuple(places),
            cost=cost_of(self.problem, tuple(places)),
            bound=self.bound,
            proven=self.proven,
            seconds=_since(self.began),
            stopped=self.stop.asked,
        )


class _Watch(cp_model.CpSolverSolutionCallback):
    """Hears of each week found, and ends the search once that is asked."""

    def __init__(self, fitting: Fitting) -> None:
        super().__init__()
        self.fitting = fitting

    def on_solution_callback(self) -> None:
        self.fitting.found(self.value)
        if self.fitting.stop.asked:
            self.stop_search()


def cost_of(problem: Problem, places: Places) -> Cost:
    """What a week costs by the problem's own demands, reckoned without the solver."""
    short, advice = shortfalls(problem, places)
    wishes = against_wishes(problem, places)
    kept = [(item, place) for item, place in zip(problem.items, places, strict=True) if place is not None]
    return Cost(
        shortfall=short,
        advice=advice,
        wishes=wishes,
        dropped=sum(place is None and not item.added for item, place in zip(problem.items, places, strict=True)),
        moved_days=sum(item.day != place.day for item, place in kept),
        shift_minutes=sum(abs(place.start - item.start) for item, place in kept if not item.added),
        length_change_minutes=sum(abs(place.end - place.start - item.length) for item, place in kept),
    )
