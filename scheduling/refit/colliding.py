"""Where rules cannot all be met: a smallest set of them that collide, found by leaving out one after the other."""

import time
from collections.abc import Collection
from dataclasses import replace

from ortools.sat.python import cp_model

from scheduling.refit.model import Model, solver_for
from scheduling.refit.problem import Choice, Problem

SECONDS = 10.0


def colliding(problem: Problem, *, seconds: float = SECONDS) -> tuple[tuple[str, ...], bool]:
    """Rules of which all but any one can be met together and all cannot, and whether that is proven.

    Blocks may go to any day. Empty where all rules can be met, or where time ended before it was known.
    """
    ends = time.monotonic() + seconds
    rules = list(dict.fromkeys(demand.rule for demand in problem.demands if not demand.is_advice))
    # One that cannot be met by itself is the smallest set there is, and soonest found.
    for rule in rules:
        if _can_all_be_met(problem, [rule], min(ends - seconds / 2, time.monotonic() + seconds / 10)) is False:
            return (rule,), True
    found = _can_all_be_met(problem, rules, ends)
    if found is not False:
        return (), found is True
    needed, proven = list(rules), True
    for rule in rules:
        others = [one for one in needed if one != rule]
        met = _can_all_be_met(problem, others, ends)
        proven &= met is not None
        if met is False:
            needed = others
    return tuple(needed), proven


def _can_all_be_met(problem: Problem, rules: Collection[str], ends: float) -> bool | None:
    """Whether some week meets all of these rules; None if time ended first."""
    some = _of_rules(problem, rules)
    model = Model(some, range(len(problem.items)))
    loose = {n for choice in some.choices for alternative in choice.alternatives for n in alternative}
    for n, (_, short, _) in enumerate(model.short):
        if n not in loose:
            model.cp.add(short == 0)
    for choice in some.choices:
        model.cp.add(model.least_of(choice.alternatives) == 0)
    left = ends - time.monotonic()
    if left <= 0:
        return None
    status = solver_for(left).solve(model.cp)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return True
    return False if status == cp_model.INFEASIBLE else None


def _of_rules(problem: Problem, rules: Collection[str]) -> Problem:
    """The problem with the demands of some rules alone."""
    kept = [n for n, demand in enumerate(problem.demands) if demand.rule in rules]
    now = {n: place for place, n in enumerate(kept)}
    choices = [
        Choice(tuple(tuple(now[n] for n in some) for some in choice.alternatives))
        for choice in problem.choices
        if all(n in now for some in choice.alternatives for n in some)
    ]
    return replace(problem, demands=tuple(problem.demands[n] for n in kept), choices=tuple(choices))
