"""Weeks of a team: each holds what it claims, and never do more classes want a thing at once than there are of it."""

from collections import Counter

from scheduling.refit.fitting import Stop
from scheduling.refit.problem import Day, Free, Item, Problem, Shared, Taken
from scheduling.refit.team import TeamProposal, clashes, fit_team, total
from tests.refit.cases import GYM, LAB, team
from tests.refit.checker import faults

DAY = (Day("mon", "regular", (Free(480, 600),)),)


def wanted_too_often(found: TeamProposal, capacities: dict[str, int]) -> list[str]:
    """Minute by minute, without the fitting's own code."""
    wanted: Counter[tuple[str, str, int]] = Counter()
    for week in found.weeks:
        for shared in week.problem.shared:
            for number, amount in shared.needed.items():
                place = week.places[number]
                if place is not None:
                    day = week.problem.days[place.day].day
                    wanted.update({(shared.key, day, minute): amount for minute in range(place.start, place.end)})
    return [f"{key} on {day} at {minute}" for (key, day, minute), many in wanted.items() if many > capacities[key]]


def sharing(*starts: int, taken: tuple[Taken, ...] = ()) -> list[Problem]:
    return [
        Problem(DAY, (Item("lab", 0, start, start + 40, "science", 40),), shared=(Shared("lab", 1, taken, {0: 1}),))
        for start in starts
    ]


def test_classes_that_want_one_thing_at_once_get_it_one_after_the_other_with_the_least_moving() -> None:
    found = fit_team(sharing(480, 480, 500), seconds=5)
    assert found is not None
    assert wanted_too_often(found, {"lab": 1}) == []
    assert sorted(place.start for week in found.weeks for place in week.places if place) == [480, 520, 560]
    assert found.rank[-1] == 100 and found.bound is not None and found.bound[-1] == 0 and not found.proven


def test_weeks_that_do_not_clash_are_proven_to_be_the_best() -> None:
    found = fit_team(sharing(480, 520), seconds=5)
    assert found is not None and found.proven and found.gap == 0 and found.rank[-1] == 0


def test_what_others_have_is_theirs_even_where_they_clash_among_themselves() -> None:
    others = (Taken(0, 480, 520, 1), Taken(0, 500, 540, 1))
    found = fit_team(sharing(480, taken=others), seconds=5)
    assert found is not None
    assert [place.start for place in found.weeks[0].places if place] == [540]
    assert not clashes(found.weeks[0].problem, found.weeks[0].places)


def test_a_team_that_is_told_to_stop_gets_the_first_weeks_found() -> None:
    stop = Stop()

    def tell(_: object) -> None:
        stop.ask()

    found = fit_team(sharing(480, 480), seconds=20, tell=tell, stop=stop)
    assert found is not None and found.seconds < 5
    assert wanted_too_often(found, {"lab": 1}) == []


def test_a_team_of_three_whole_weeks_holds_what_it_claims() -> None:
    found = fit_team(team(0, 3), seconds=12)
    assert found is not None
    assert wanted_too_often(found, {"lab": LAB, "gym": GYM}) == []
    assert [faults(week) for week in found.weeks] == [[], [], []]
    assert found.rank == total(found.weeks)
    assert found.bound is None or found.rank >= found.bound
