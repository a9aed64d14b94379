"""The times when all of a team are free at once, against a count minute by minute."""

from itertools import combinations, groupby

from hypothesis import given
from hypothesis import strategies as st

from scheduling.common_time import Nearly, common_time, longest_together, minutes_together, nearly_common
from scheduling.specialist_day import Span

DAY = 60

# Source: common practice, no source. No published table with the common planning minutes of a whole
# team could be opened, so the figures below are worked by hand and by the naive count.


@st.composite
def spans(draw: st.DrawFn) -> Span:
    start = draw(st.integers(0, DAY - 1))
    return start, draw(st.integers(start + 1, DAY))


days = st.dictionaries(st.integers(1, 4), st.lists(spans(), max_size=4), max_size=4)
shortest = st.integers(1, 20)


def minutes(some: list[Span]) -> set[int]:
    return {minute for start, end in some for minute in range(start, end)}


def runs(held: set[int], long: int) -> list[Span]:
    """Minutes in a row out of a set, where there are enough of them."""
    found = []
    for _, some in groupby(enumerate(sorted(held)), key=lambda pair: pair[1] - pair[0]):
        row = [minute for _, minute in some]
        if len(row) >= long:
            found.append((row[0], row[-1] + 1))
    return found


def all_free(day: dict[int, list[Span]]) -> set[int]:
    return {minute for minute in range(DAY) if day and all(minute in minutes(some) for some in day.values())}


@given(days, shortest)
def test_common_time_is_every_minute_that_all_have_in_rows_that_are_long_enough(
    day: dict[int, list[Span]], long: int
) -> None:
    assert common_time(day, long) == runs(all_free(day), long)


@given(days, shortest)
def test_nearly_is_where_the_others_have_time_and_one_alone_has_not(day: dict[int, list[Span]], long: int) -> None:
    have = minutes(runs(all_free(day), long))
    wanted = []
    for place in day:
        others = {room: some for room, some in day.items() if room != place}
        for start, end in runs(all_free(others), long):
            row = set(range(start, end))
            if len(row - have) >= long:
                wanted.append(Nearly(start, end, place, tuple(runs(row - minutes(day[place]), 1))))
    assert nearly_common(day, long) == sorted(wanted)


@given(st.lists(days, max_size=3), shortest)
def test_a_pairs_minutes_are_those_both_have(some: list[dict[int, list[Span]]], long: int) -> None:
    told = minutes_together(some, long)
    for one, other in combinations(range(1, 5), 2):
        both = [{one: day[one], other: day[other]} for day in some if one in day and other in day]
        assert told.get((one, other), 0) == sum(len(minutes(runs(all_free(day), long))) for day in both)
    best = longest_together(told)
    assert all(told[pair] == max(told.values()) > 0 for pair in best)
    assert bool(best) == any(told.values())


def test_art_in_one_room_and_music_in_the_other_give_the_team_the_time_both_last() -> None:
    assert common_time({12: [(540, 580)], 14: [(550, 600)], 15: [(500, 640)]}) == [(550, 580)]


def test_two_specials_right_after_each_other_are_one_time() -> None:
    assert common_time({12: [(540, 580), (580, 620)], 14: [(540, 620)]}) == [(540, 620)]


def test_a_time_shorter_than_asked_for_is_not_told() -> None:
    assert common_time({12: [(540, 554)], 14: [(540, 600)]}) == []
    assert common_time({12: [(540, 555)], 14: [(540, 600)]}) == [(540, 555)]


def test_a_team_without_a_classroom_has_no_common_time() -> None:
    assert common_time({}) == []


def test_the_classroom_that_alone_stands_in_the_way_is_named_with_the_time_it_takes() -> None:
    freed: dict[int, list[Span]] = {12: [(540, 600)], 14: [(540, 600)], 15: [(570, 600)]}
    assert common_time(freed) == [(570, 600)]
    assert nearly_common(freed) == [Nearly(540, 600, 15, ((540, 570),))]
    # Ten minutes more are no time to meet in.
    assert nearly_common({**freed, 15: [(550, 600)]}) == []


def test_nobody_stands_alone_in_the_way_where_two_do() -> None:
    assert nearly_common({12: [(540, 600)], 14: [], 15: []}) == []


def test_the_pair_with_the_most_time_together_is_found_over_the_week() -> None:
    monday: dict[int, list[Span]] = {12: [(540, 580)], 14: [(540, 560)], 15: [(700, 740)]}
    tuesday: dict[int, list[Span]] = {12: [(540, 580)], 14: [(600, 640)], 15: [(540, 580)]}
    told = minutes_together([monday, tuesday])
    assert told == {(12, 14): 20, (12, 15): 40, (14, 15): 0}
    assert longest_together(told) == [(12, 15)]
