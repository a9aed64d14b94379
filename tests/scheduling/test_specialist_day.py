"""A specialist's day against a count of it minute by minute."""

from itertools import groupby

from hypothesis import given
from hypothesis import strategies as st

from scheduling.specialist_day import Clash, Span, Stretch, clashes, free_between, joined, lasting

DAY = 60


@st.composite
def spans(draw: st.DrawFn) -> Span:
    start = draw(st.integers(0, DAY - 1))
    return start, draw(st.integers(start + 1, DAY))


stretches = st.builds(lambda span, place: Stretch(span[0], span[1], place), spans(), st.integers(1, 4))


def minutes(some: list[Span]) -> set[int]:
    return {minute for start, end in some for minute in range(start, end)}


def runs(held: list[frozenset[int]]) -> list[Clash]:
    """Minutes in a row that have the same places, where those are two or more."""
    found = []
    for places, some in groupby(range(len(held)), key=lambda minute: held[minute]):
        at = list(some)
        if len(places) > 1:
            found.append(Clash(at[0], at[-1] + 1, places))
    return found


@given(st.lists(stretches, max_size=8))
def test_clashes_are_those_of_a_count_minute_by_minute(some: list[Stretch]) -> None:
    held = [frozenset(s.place for s in some if s.start <= minute < s.end) for minute in range(DAY)]
    assert clashes(some) == runs(held)


@given(st.lists(spans(), max_size=8))
def test_joined_spans_hold_the_same_minutes_with_a_gap_between_each_two(some: list[Span]) -> None:
    told = joined(some)
    assert minutes(told) == minutes(some)
    assert all(one[1] < other[0] for one, other in zip(told, told[1:], strict=False))
    assert lasting(some) == len(minutes(some))


@given(st.lists(spans(), max_size=8), spans())
def test_what_is_free_is_every_minute_that_no_span_takes(some: list[Span], within: Span) -> None:
    told = free_between(some, within)
    assert minutes(told) == minutes([within]) - minutes(some)
    assert told == joined(told)


def test_two_classes_at_once_are_a_clash_and_one_after_the_other_are_none() -> None:
    assert clashes([Stretch(540, 580, 12), Stretch(560, 600, 14)]) == [Clash(560, 580, frozenset({12, 14}))]
    assert clashes([Stretch(540, 580, 12), Stretch(580, 620, 14)]) == []


def test_one_class_split_into_two_stretches_clashes_once_with_another() -> None:
    some = [Stretch(540, 560, 12), Stretch(560, 580, 12), Stretch(540, 580, 14)]
    assert clashes(some) == [Clash(540, 580, frozenset({12, 14}))]
