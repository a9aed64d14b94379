"""Fitting where a week's demands depend on the week itself: days out of the ordinary lose what stands in their way.

The first week is found by demands that take the most they may lose. Held against that week they become exact for it;
fitted once more, they give the next. Each week is judged by demands exact for itself, and the best of them is taken.
"""

import time
from collections.abc import Callable, Sequence
from dataclasses import replace

from scheduling.refit.fitting import SECONDS, Stop, Tell, cost_of, fit
from scheduling.refit.problem import Place, Problem
from scheduling.refit.proposal import Proposal

ROUNDS = 3
Exactly = Callable[[Problem, Sequence[Place | None]], Problem]
"""A problem with its demands held against a placed week."""
Fit = Callable[..., Proposal | None]


def fit_closely(
    problem: Problem,
    exactly: Exactly,
    *,
    seconds: float = SECONDS,
    tell: Tell | None = None,
    stop: Stop | None = None,
    by: Fit = fit,
) -> Proposal | None:
    """The best week of some rounds of fitting, its cost by demands exact for it; None if none was found in time.

    `proven` and `bound` are by the demands held against the week of the round before.
    """
    ends, stop = time.monotonic() + seconds, stop or Stop()
    best: Proposal | None = None
    for _ in range(ROUNDS):
        left = ends - time.monotonic()
        if left <= 0 or (best is not None and stop.asked):
            break
        found = by(problem, seconds=left, tell=tell, stop=stop)
        if found is None:
            break
        told = judged(found, exactly)
        if told.cost != found.cost:
            # What was proven was proven of other demands.
            told = replace(told, bound=0.0, proven=False)
        if best is None or told.cost.rank < best.cost.rank:
            best = told
        elif best is not None:
            break
        if told.problem.demands == found.problem.demands or told.cost == found.cost:
            break
        problem = replace(problem, demands=told.problem.demands)
    return best


def judged(found: Proposal, exactly: Exactly) -> Proposal:
    """A proposal with its cost by demands exact for its own week."""
    exact = exactly(found.problem, found.places)
    return replace(found, problem=exact, cost=cost_of(exact, found.places))
