"""Fitted weeks: what they claim holds, they are the best there are, and the same each time."""

import itertools
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.minutes.plan import Credit
from scheduling.minutes.rules import TEST_KINDS, Figure, TestKind
from scheduling.refit.fitting import CannotHold, Stop, cost_of, fit
from scheduling.refit.problem import Choice, Day, Demand, Free, Item, Need, Place, Problem, Shared, Taken, Wishes
from scheduling.refit.proposal import Proposal
from tests.refit.cases import case
from tests.refit.checker import faults

CASES = (2, 9, 16, 23, 35, 47)
"""Of the fifty, some of each sort: that fit at once, that fall short, that leave blocks out."""
MORNING = Day("mon", "regular", (Free(480, 540), Free(555, 600)))
TUESDAY = Day("tue", "regular", (Free(480, 600),))


def fitted(problem: Problem) -> Proposal:
    found = fit(problem)
    assert found is not None
    assert faults(found) == []
    return found


@pytest.mark.parametrize("number", CASES)
def test_what_a_proposal_claims_holds(number: int) -> None:
    found = fitted(case(number))
    assert found.bound <= found.cost.moving


def test_a_week_that_fits_already_stays_as_it_is() -> None:
    items = (Item("a", 0, 480, 540, "math", 30), Item("b", 0, 555, 600, "art", 20))
    found = fitted(
        Problem((MORNING,), items, (Demand("math", 0, "at_least", frozenset({"math"}), (Need({0: 1}, 60),)),))
    )
    assert found.places == (Place(0, 480, 540), Place(0, 555, 600))
    assert found.proven and not any(found.cost.rank)


def test_the_rules_come_before_the_blocks_and_the_blocks_before_their_times() -> None:
    items = (Item("a", 0, 480, 540, "math", 30), Item("b", 0, 540, 600, "art", 20), Item("c", 0, 600, 640, "pe", 20))
    math = Demand("math", 0, "at_least", frozenset({"math"}), (Need({0: 1}, 60),))
    found = fitted(Problem((MORNING,), items, (math,)))
    assert found.places[0] == Place(0, 480, 540)
    assert found.cost.dropped == 0 and found.cost.shortfall == 0


def test_a_block_goes_to_another_day_rather_than_out() -> None:
    items = (Item("a", 0, 480, 540, "math", 60), Item("b", 0, 555, 600, "art", 45), Item("c", 0, 600, 640, "pe", 40))
    found = fitted(Problem((MORNING, TUESDAY), items))
    assert (found.cost.dropped, found.cost.moved_days) == (0, 1)


def test_a_held_block_stands_where_it_is_held_whatever_that_costs() -> None:
    items = (Item("a", 0, 480, 520, "art", 20), Item("b", 0, 520, 600, "math", 30))
    math = Demand("math", 0, "at_least", frozenset({"math"}), (Need({0: 1}, 80),))
    found = fitted(Problem((MORNING,), items, (math,), held={0: Place(0, 480, 520)}))
    assert found.places[0] == Place(0, 480, 520)
    assert found.cost.shortfall == 80 - 45


def test_a_block_may_be_held_on_another_day_or_out() -> None:
    items = (Item("a", 0, 480, 520, "art", 20), Item("b", 0, 520, 540, "math", 20))
    found = fitted(Problem((MORNING, TUESDAY), items, held={0: Place(1, 500, 540), 1: None}))
    assert found.places == (Place(1, 500, 540), None)
    assert (found.cost.dropped, found.cost.moved_days) == (1, 1)


def test_what_cannot_be_held_is_said_so() -> None:
    items = (Item("a", 0, 480, 520, "art", 20), Item("b", 0, 520, 540, "math", 20))
    for held in ({0: Place(0, 530, 560)}, {0: Place(0, 480, 530), 1: Place(0, 500, 540)}):
        with pytest.raises(CannotHold):
            fit(Problem((MORNING,), items, held=held))


def test_wishes_come_after_the_rules_and_before_the_blocks_times() -> None:
    items = (Item("a", 0, 480, 540, "art", 30), Item("b", 0, 555, 600, "math", 30))
    wished = fitted(Problem((MORNING, TUESDAY), items, wishes=Wishes(ends_by={"math": 545})))
    assert wished.places == (Place(0, 480, 510), Place(0, 510, 540))
    at_most = fitted(Problem((MORNING,), items, wishes=Wishes(at_a_stretch={"art": 40})))
    assert at_most.places[0] is not None and at_most.places[0].end - at_most.places[0].start == 40
    art = Demand("art", 0, "at_least", frozenset({"art"}), (Need({0: 1}, 60),))
    ruled = fitted(Problem((MORNING,), items, (art,), wishes=Wishes(at_a_stretch={"art": 40})))
    assert ruled.cost.shortfall == 0 and ruled.cost.wishes == 20


def test_what_several_classrooms_share_is_never_wanted_twice_at_once() -> None:
    rooms = (Day("mon", "regular", (Free(480, 600),), "a"), Day("mon", "regular", (Free(480, 600),), "b"))
    items = (Item("a", 0, 480, 530, "lab", 50), Item("b", 1, 480, 530, "lab", 50))
    found = fitted(Problem(rooms, items, shared=(Shared("lab", 1, (), {0: 1, 1: 1}),)))
    assert found.cost.moving == 50 and found.cost.dropped == 0


def test_an_integrated_block_is_never_shorter_than_what_it_credits() -> None:
    credits = (Credit("reading", 30), Credit("science", 20))
    items = (Item("a", 0, 480, 540, "reading", 50, credits=credits), Item("b", 0, 540, 600, "math", 10))
    found = fitted(Problem((Day("mon", "regular", (Free(480, 545),)),), items))
    assert found.places[0] is not None and found.places[0].end - found.places[0].start >= 50


def test_a_shared_room_is_had_when_it_is_free() -> None:
    lab = Shared("lab", 1, (Taken(0, 480, 530, 1),), {0: 1})
    found = fitted(Problem((TUESDAY,), (Item("a", 0, 480, 520, "science", 30),), shared=(lab,)))
    assert found.places[0] is not None and found.places[0].start >= 530


def test_of_alternatives_one_is_enough() -> None:
    items = (Item("a", 0, 480, 540, "math", 60),)
    both = (
        Demand("either", 0, "at_least", frozenset({"math"}), (Need({0: 1}, 500),)),
        Demand("either", 1, "at_least", frozenset({"math"}), (Need({0: 1}, 50),)),
    )
    assert fitted(Problem((MORNING,), items, both, (Choice(((0,), (1,))),))).cost.shortfall == 0


def test_a_day_without_room_leaves_every_block_out_and_says_so() -> None:
    found = fitted(Problem((Day("mon", "regular", ()),), (Item("a", 0, 480, 540, "math", 30),)))
    assert found.places == (None,)
    assert found.cost.dropped == 1


def test_the_same_problem_gives_the_same_week() -> None:
    assert fitted(case(2)).places == fitted(case(2)).places


def test_whoever_stops_it_gets_the_best_found_so_far() -> None:
    stop = Stop()

    def tell(found: Proposal) -> None:
        stop.asked = True

    found = fit(case(3), tell=tell, stop=stop)
    assert found is not None and found.stopped and not found.proven
    assert faults(found) == []


def test_without_time_there_is_no_week() -> None:
    assert fit(case(3), seconds=0) is None


# Against every week there is

ACTIVITIES = ("math", "reading")
DAYS = (Day("mon", "regular", (Free(0, 15), Free(20, 30))), Day("tue", "regular", (Free(5, 20),)))

MINUTES: st.SearchStrategy[Figure] = st.integers(1, 6).map(lambda n: 5 * n)
FIGURES: dict[TestKind, st.SearchStrategy[Figure]] = {
    **dict.fromkeys(TEST_KINDS, MINUTES),
    "share": st.integers(1, 3).map(lambda n: Fraction(1, n)),
    "days_met": st.integers(1, 2),
}


@st.composite
def small(draw: st.DrawFn) -> Problem:
    """Two short days and up to three blocks of five to fifteen minutes."""
    items = []
    for n in range(draw(st.integers(1, 3))):
        start, length = 5 * draw(st.integers(0, 6)), 5 * draw(st.integers(1, 3))
        least = draw(st.sampled_from([5, length]))
        items.append(Item(n, draw(st.integers(0, 1)), start, start + length, draw(st.sampled_from(ACTIVITIES)), least))
    items.sort(key=lambda one: (one.day, one.start))
    demands = []
    for n in range(draw(st.integers(0, 3))):
        test = draw(st.sampled_from(TEST_KINDS))
        days = draw(st.sampled_from([{0: 1}, {1: 1}, {0: 1, 1: 1}, {0: 2, 1: 1}]))
        demands.append(
            Demand(
                f"rule{n}",
                0,
                test,
                frozenset(draw(st.sets(st.sampled_from(ACTIVITIES), min_size=1))),
                (Need(days, draw(FIGURES[test])),),
                base=frozenset(ACTIVITIES),
                minutes=5,
                sitting=draw(st.sampled_from([0, 10])) if test == "at_least" else 0,
            )
        )
    return Problem(DAYS, tuple(items), tuple(demands))


def everywhere(problem: Problem, item: Item) -> list[Place | None]:
    """Wherever a block could stand: any day, any start on the grid, any length it may have."""
    return [None] + [
        Place(day, start, start + length)
        for day, target in enumerate(problem.days)
        for free in target.free
        for start in range(free.start, free.end, 5)
        for length in range(item.least, free.end - start + 1, 5)
    ]


def fits(problem: Problem, places: tuple[Place | None, ...]) -> bool:
    """No two overlap, and those that stayed on their day kept their order."""
    kept = [(n, place) for n, place in enumerate(places) if place is not None]
    for (n, one), (m, other) in itertools.combinations(kept, 2):
        if one.day == other.day:
            if one.start < other.end and other.start < one.end:
                return False
            staying = problem.items[n].day == problem.items[m].day == one.day
            if staying and one.start > other.start:
                return False
    return True


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(small())
def test_no_week_of_all_there_are_is_better(problem: Problem) -> None:
    found = fitted(problem)
    assert found.proven
    ranks = (
        cost_of(problem, places).rank
        for places in itertools.product(*(everywhere(problem, item) for item in problem.items))
        if fits(problem, places)
    )
    assert found.cost.rank == min(ranks)
