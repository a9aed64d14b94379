"""A week from nothing: one laid out from the demands, then fitted so that they are met to the minute."""

import time
from dataclasses import replace

from scheduling.refit.fitting import PASSES, SECONDS, Fitting, Stop, Tell
from scheduling.refit.mending import with_added
from scheduling.refit.problem import Problem
from scheduling.refit.proposal import Proposal


def draft(
    problem: Problem, *, seconds: float = SECONDS, tell: Tell | None = None, stop: Stop | None = None
) -> Proposal | None:
    """The week nearest to what is demanded and then wished, or the best found in time; None if none was found.

    `problem` holds what was laid out, in the order of its days. Where that is short, blocks of what is short may be
    added on any day; where that is short too, any block may go to another day.
    """
    began, stop = time.monotonic(), stop or Stop()
    ends = began + seconds
    found = Fitting(problem, (), began, ends, tell, stop).run(PASSES)
    for anywhere in (False, True):
        if found is None or not found.cost.shortfall or stop.asked:
            break
        wide = with_added(_as_placed(found))
        movable = range(len(wide.items)) if anywhere else ()
        places = tuple(None if item.added else item.place for item in wide.items)
        more = Fitting(wide, movable, began, ends, tell, stop).run(PASSES, places)
        if more is not None and more.cost.rank[:3] < found.cost.rank[:3]:
            found = more
    return found


def _as_placed(found: Proposal) -> Problem:
    """The problem with each block where it was placed: what was left out is asked for anew by what is short."""
    problem = found.problem
    kept = sorted((place, n) for n, place in enumerate(found.places) if place is not None)
    items = tuple(
        replace(problem.items[n], day=place.day, start=place.start, end=place.end, added=False) for place, n in kept
    )
    held = {now: problem.held[n] for now, (_, n) in enumerate(kept) if n in problem.held}
    return replace(problem, items=items, held=held)
