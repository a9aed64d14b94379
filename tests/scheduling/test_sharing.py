"""Uses of what classes share against a count of them minute by minute."""

from itertools import groupby, pairwise

from hypothesis import given
from hypothesis import strategies as st

from scheduling.sharing import Clash, Left, Use, clashes, remaining
from scheduling.specialist_day import Span

DAY = 60


@st.composite
def uses(draw: st.DrawFn) -> Use:
    start = draw(st.integers(0, DAY - 1))
    end = draw(st.integers(start + 1, DAY))
    return Use(start, end, draw(st.integers(1, 3)), draw(st.integers(1, 3)), draw(st.integers(1, 9)))


some_uses = st.lists(uses(), max_size=7, unique=True)


def held(some: list[Use]) -> list[tuple[Use, ...]]:
    """By minute the uses of it."""
    return [tuple(sorted(use for use in some if use.start <= minute < use.end)) for minute in range(DAY)]


@given(some_uses, st.integers(1, 5))
def test_clashes_are_every_minute_wanted_more_than_there_is(some: list[Use], capacity: int) -> None:
    by_minute = held(some)
    wanted = []
    for now, at in groupby(range(DAY), key=lambda minute: by_minute[minute]):
        row = list(at)
        if sum(use.amount for use in now) > capacity:
            wanted.append(Clash(row[0], row[-1] + 1, sum(use.amount for use in now), now))
    assert clashes(some, capacity) == wanted


@given(some_uses, st.integers(1, 5), st.tuples(st.integers(0, 30), st.integers(31, DAY)))
def test_what_is_left_is_that_of_every_minute(some: list[Use], capacity: int, within: Span) -> None:
    by_minute = held(some)
    left = {minute: capacity - sum(use.amount for use in by_minute[minute]) for minute in range(*within)}
    told = remaining(some, capacity, within)
    assert {minute: one.amount for one in told for minute in range(one.start, one.end)} == {
        minute: amount for minute, amount in left.items() if amount > 0
    }
    assert all(one.end < other.start or one.amount != other.amount for one, other in pairwise(told))


def test_two_classes_in_one_lab_clash_for_the_time_both_have_it() -> None:
    mine, theirs = Use(540, 570, 1, 12, 1), Use(550, 600, 1, 14, 2)
    assert clashes([mine, theirs], 1) == [Clash(550, 570, 2, (mine, theirs))]
    assert clashes([mine, theirs], 2) == []


def test_one_class_right_after_the_other_is_no_clash() -> None:
    assert clashes([Use(540, 570, 1, 12, 1), Use(570, 600, 1, 14, 2)], 1) == []


def test_three_classes_want_two_aides() -> None:
    three = [Use(540, 600, 1, room, room) for room in (12, 14, 15)]
    (clash,) = clashes(three, 2)
    assert (clash.wanted, [use.place for use in clash.uses]) == (3, [12, 14, 15])


def test_a_block_that_wants_more_than_there_is_clashes_with_nobody_but_itself() -> None:
    assert clashes([Use(540, 600, 3, 12, 1)], 2) == [Clash(540, 600, 3, (Use(540, 600, 3, 12, 1),))]


def test_one_of_two_aides_is_left_while_a_class_has_the_other() -> None:
    one = [Use(540, 600, 1, 12, 1)]
    assert remaining(one, 2, (480, 660)) == [Left(480, 540, 2), Left(540, 600, 1), Left(600, 660, 2)]
    assert remaining(one, 1, (480, 660)) == [Left(480, 540, 1), Left(600, 660, 1)]
