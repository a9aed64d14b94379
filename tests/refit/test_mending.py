"""Mended weeks: what they claim holds, no change of fewer blocks does as well, and each differs from the others."""

import itertools
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.refit.fitting import Stop, fit
from scheduling.refit.mending import mend, touched_by, with_added
from scheduling.refit.problem import Day, Demand, Free, Item, Need, Place, Problem
from scheduling.refit.reckoning import shortfalls
from tests.refit.cases import case
from tests.refit.checker import faults

MORNING = Day("mon", "regular", (Free(480, 540), Free(555, 600)))
TUESDAY = Day("tue", "regular", (Free(480, 600),))
WEEK = {0: 1, 1: 1}


def at_least(activity: str, minutes: int, days: dict[int, int] = WEEK) -> Demand:
    return Demand(activity, 0, "at_least", frozenset({activity}), (Need(days, minutes),))


def test_a_week_that_meets_its_rules_needs_no_mending() -> None:
    items = (Item("a", 0, 480, 540, "math", 30),)
    assert mend(Problem((MORNING,), items, (at_least("math", 60, {0: 1}),))) == []


def test_what_is_short_is_made_longer_or_added_in_free_time() -> None:
    items = (Item("a", 0, 480, 510, "math", 20), Item("b", 0, 555, 600, "art", 20))
    found = mend(Problem((MORNING, TUESDAY), items, (at_least("math", 45), at_least("art", 45))))
    assert all(faults(one) == [] and one.cost.shortfall == 0 for one in found)
    assert found[0].places[0] == Place(0, 480, 525)
    assert any(one.places[0] == Place(0, 480, 510) for one in found), "one adds a block and leaves the other alone"
    assert len({touched_by(one) for one in found}) == len(found) > 1


def test_what_has_slack_gives_way_where_no_time_is_free() -> None:
    items = (Item("a", 0, 480, 540, "art", 20), Item("b", 0, 555, 600, "math", 20))
    found = mend(Problem((MORNING,), items, (at_least("math", 60, {0: 1}), at_least("art", 30, {0: 1}))))
    assert found and all(faults(one) == [] and one.cost.shortfall == 0 for one in found)


def test_rules_that_cannot_come_nearer_give_no_mending() -> None:
    items = (Item("a", 0, 480, 540, "math", 60), Item("b", 0, 555, 600, "math", 45))
    assert mend(Problem((MORNING,), items, (at_least("math", 200, {0: 1}),))) == []


def test_a_mending_told_to_stop_gives_what_it_has_found() -> None:
    items = (Item("a", 0, 480, 510, "math", 20), Item("b", 0, 555, 600, "art", 20))
    stop = Stop()

    def tell(_: object) -> None:
        stop.asked = True

    assert len(mend(Problem((MORNING, TUESDAY), items, (at_least("math", 45),)), tell=tell, stop=stop)) == 1


@pytest.mark.parametrize("number", [2, 5])
def test_a_whole_week_is_mended_in_different_small_ways(number: int) -> None:
    found = fit(case(number))
    assert found is not None
    stand = [(item, place) for item, place in zip(found.problem.items, found.places, strict=True) if place is not None]
    items = tuple(Item(item.key, p.day, p.start, p.end, item.activity, item.least) for item, p in stand)
    more = tuple(
        replace(one, needs=tuple(replace(need, required=need.required + 25) for need in one.needs))
        if one.rule in ("math", "science")
        else one
        for one in found.problem.demands
    )
    problem = replace(found.problem, items=tuple(sorted(items, key=lambda one: one.place)), demands=more)
    before = shortfalls(problem, [item.place for item in problem.items])[0]
    mended = mend(problem, most=3)
    assert len({touched_by(one) for one in mended}) == len(mended) == 3
    for one in mended:
        assert faults(one) == []
        assert one.cost.shortfall < before


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_no_change_of_fewer_blocks_mends_a_small_week_as_well(data: st.DataObject) -> None:
    """Held against every week there is."""
    free = (Free(480, 480 + 5 * data.draw(st.integers(4, 7))),)
    at, items = 480, []
    for n in range(data.draw(st.integers(1, 2))):
        length = 5 * data.draw(st.integers(2, 3))
        if at + length <= free[0].end:
            items.append(Item(n, 0, at, at + length, data.draw(st.sampled_from("ab")), 10))
        at += length + 5 * data.draw(st.integers(0, 1))
    demands = tuple(at_least(activity, 5 * data.draw(st.integers(0, 4), label=activity), {0: 1}) for activity in "ab")
    problem = Problem((Day("mon", "regular", free),), tuple(items), demands)
    found, best = mend(problem), _best(with_added(problem))
    if not found:
        assert best[0] >= shortfalls(problem, [item.place for item in items])[0]
        return
    assert all(faults(one) == [] for one in found)
    assert (found[0].cost.shortfall, found[0].cost.dropped, len(touched_by(found[0]))) == best


def _best(problem: Problem) -> tuple[Fraction, int, int]:
    """The least shortfall of all weeks, the fewest blocks one with it leaves out, and the fewest it then touches."""
    free = problem.days[0].free[0]
    choices: list[list[Place | None]] = []
    for item in problem.items:
        anywhere: list[Place | None] = [None]
        for start in range(free.start, free.end, 5):
            anywhere += [Place(0, start, end) for end in range(start + item.least, free.end + 1, 5)]
        choices.append(anywhere)
    best: tuple[Fraction, int, int] | None = None
    for places in map(tuple, itertools.product(*choices)):
        there = sorted(place for place in places if place is not None)
        if any(one.end > after.start for one, after in itertools.pairwise(there)):
            continue
        pairs = zip(problem.items, places, strict=True)
        touched = sum(place != (None if item.added else item.place) for item, place in pairs)
        dropped = sum(place is None and not item.added for item, place in zip(problem.items, places, strict=True))
        this = (shortfalls(problem, places)[0], dropped, touched)
        best = this if best is None or this < best else best
    assert best is not None
    return best
