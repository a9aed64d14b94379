"""The passes of a fitting: least shortfall, then what is advised, then fewest blocks dropped, then least moving.

Each pass fixes what it found before the next begins, and starts from the week the one before found.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from ortools.sat.python import cp_model

from scheduling.refit.model import Model, Sum
from scheduling.refit.problem import GRAIN, Problem
from scheduling.refit.proposal import Cost, Place, Proposal
from scheduling.refit.reckoning import shortfalls

SECONDS = 20.0
SEED = 1
Tell = Callable[[Proposal], object]
"""Told of each better week as it is found."""


@dataclass
class Stop:
    """Asks a fitting to end; the best found so far is what comes of it."""

    asked: bool = False


def fit(
    problem: Problem, *, seconds: float = SECONDS, tell: Tell | None = None, stop: Stop | None = None
) -> Proposal | None:
    """The best week for a problem, or the best found in so many seconds; None if none was found at all."""
    return _Fitting(problem, seconds, tell, stop or Stop()).run()


class _Fitting:
    def __init__(self, problem: Problem, seconds: float, tell: Tell | None, stop: Stop) -> None:
        self.problem, self.tell, self.stop = problem, tell, stop
        self.began = time.monotonic()
        self.ends = self.began + seconds
        self.model = Model(problem)
        self.best: Proposal | None = None
        self.values: list[tuple[int, int, int]] | None = None
        self.bound = 0.0
        self.proven = True

    def run(self) -> Proposal | None:
        model = self.model
        passes: list[tuple[str, Sum]] = [
            ("shortfall", model.shortfall(advice=False)[0]),
            ("advice", model.shortfall(advice=True)[0]),
            ("dropped", model.dropped()),
            ("moving", model.moving()),
        ]
        for name, cost in passes:
            if isinstance(cost, int):
                continue
            if not self._minimise(name, cost):
                break
        if self.best is None:
            return None
        return self._proposal(self.values or [])

    def _minimise(self, name: str, cost: Sum) -> bool:
        """One pass; False once there is no time for another."""
        cp, solver = self.model.cp, cp_model.CpSolver()
        left = self.ends - time.monotonic()
        if left <= 0 or self.stop.asked:
            self.proven = False
            return False
        parameters: Any = solver.parameters
        parameters.max_time_in_seconds = left
        # One worker finds the same week each time, and with the full relaxation it is not slower than several.
        parameters.num_workers = 1
        parameters.linearization_level = 2
        parameters.random_seed = SEED
        cp.clear_objective()
        cp.minimize(cost)
        cp.clear_hints()
        if self.values is not None:
            for placed, (start, length, present) in zip(self.model.placed, self.values, strict=True):
                cp.add_hint(placed.start, start)
                cp.add_hint(placed.length, length)
                cp.add_hint(placed.present, present)
        status = solver.solve(cp, _Watch(self))
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self.proven = False
            return False
        self.values = [
            (solver.value(placed.start), solver.value(placed.length), solver.value(placed.present))
            for placed in self.model.placed
        ]
        self.bound = solver.best_objective_bound * (GRAIN if name == "moving" else 1)
        self.best = self._proposal(self.values)
        self.proven &= status == cp_model.OPTIMAL
        cp.add(cost <= round(solver.objective_value))
        return status == cp_model.OPTIMAL or name != "moving"

    def found(self, value: Callable[[Any], int]) -> None:
        """A better week of the pass that runs."""
        if self.tell is not None:
            placed = self.model.placed
            self.tell(self._proposal([(value(one.start), value(one.length), value(one.present)) for one in placed]))

    def _proposal(self, values: list[tuple[int, int, int]]) -> Proposal:
        places = tuple(
            Place(item.day, start * GRAIN, (start + length) * GRAIN) if present else None
            for item, (start, length, present) in zip(self.problem.items, values, strict=True)
        )
        return Proposal(
            problem=self.problem,
            places=places,
            cost=cost_of(self.problem, places),
            bound=self.bound,
            proven=self.proven,
            seconds=time.monotonic() - self.began,
            stopped=self.stop.asked,
        )


class _Watch(cp_model.CpSolverSolutionCallback):
    """Hears of each week found, and ends the search once that is asked."""

    def __init__(self, fitting: _Fitting) -> None:
        super().__init__()
        self.fitting = fitting

    def on_solution_callback(self) -> None:
        self.fitting.found(self.value)
        if self.fitting.stop.asked:
            self.stop_search()


def cost_of(problem: Problem, places: tuple[Place | None, ...]) -> Cost:
    """What a week costs by the problem's own demands, reckoned without the solver."""
    short, advice = shortfalls(problem, places)
    kept = [(item, place) for item, place in zip(problem.items, places, strict=True) if place is not None]
    return Cost(
        shortfall=float(short),
        advice=float(advice),
        dropped=sum(place is None for place in places),
        moved_days=sum(item.day != place.day for item, place in kept),
        shift_minutes=sum(abs(place.start - item.start) for item, place in kept if item.day == place.day),
        length_change_minutes=sum(abs(place.end - place.start - item.length) for item, place in kept),
    )
