"""The shape of a week, by hand and against counts minute by minute."""

from collections import defaultdict
from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.minutes.layout import Columns
from scheduling.minutes.plan import Bell, Block, Credit, FixedStretch
from scheduling.week_shape import Longest, Stretch, days_of, out_of_order, shape_of

# Source: common practice, no source. No published table of such figures could be opened, so they are worked by hand
# and by the naive counts below.
NAMES = ["reading", "math", "art"]
DAYS = ["mon", "tue", "wed", "thu", "fri"]


def plain(start: int, end: int, activity: str) -> Stretch:
    return Stretch(start, end, activity, (Credit(activity, end - start),))


@st.composite
def days(draw: st.DrawFn) -> list[Stretch]:
    """A day of some stretches, plain, integrated or fixed, some of which touch."""
    found, at = [], draw(st.integers(600, 700))
    for _ in range(draw(st.integers(0, 6))):
        at += draw(st.sampled_from([0, 0, 5]))
        end, activity = at + draw(st.integers(10, 40)), draw(st.sampled_from(NAMES))
        stretch = plain(at, end, activity)._replace(fixed=draw(st.booleans()))
        if draw(st.booleans()):
            credited = draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=2, unique=True))
            stretch = stretch._replace(credits=tuple(Credit(one, draw(st.integers(1, 5))) for one in credited))
        found.append(stretch)
        at = end
    return found


WEEKS = st.lists(days(), min_size=1, max_size=6).map(lambda held: {str(n): day for n, day in enumerate(held)})
ORDERS = st.permutations("abcdef").flatmap(lambda order: st.integers(0, 6).map(lambda n: order[:n]))


@given(WEEKS)
def test_minutes_are_those_of_a_plain_count_for_five_days(week: dict[str, list[Stretch]]) -> None:
    counted: dict[str, int] = defaultdict(int)
    for day in week.values():
        for stretch in day:
            for activity, minutes in stretch.credits:
                counted[activity] += minutes
    shape = shape_of(week)
    assert shape.minutes == {activity: Fraction(5 * n, len(week)) for activity, n in counted.items()}
    assert set(shape.order) == set(shape.when) == set(shape.longest) == set(counted)
    assert len(shape.order) == len(counted)


@given(WEEKS)
def test_the_same_round_twice_is_the_same_week(week: dict[str, list[Stretch]]) -> None:
    once, twice = shape_of(week), shape_of({**week, **{f"again {day}": some for day, some in week.items()}})
    assert (once.minutes, once.when, once.order) == (twice.minutes, twice.when, twice.order)
    assert once.changes_a_day == twice.changes_a_day
    assert [one.minutes for one in once.longest.values()] == [one.minutes for one in twice.longest.values()]


@given(WEEKS)
def test_changes_are_those_met_going_through_the_day_minute_by_minute(week: dict[str, list[Stretch]]) -> None:
    for day, stretches in week.items():
        held = {minute: stretch.activity for stretch in stretches for minute in range(stretch.start, stretch.end)}
        changes, before = 0, ""
        for minute, activity in sorted(held.items()):
            if before and (activity != before or minute - 1 not in held):
                changes += 1
            before = activity
        blocks = [stretch for stretch in stretches if not stretch.fixed]
        assert shape_of(week).changes.get(day) == (changes if blocks else None)


@given(WEEKS)
def test_a_longest_stretch_holds_its_activity_at_every_minute_and_none_is_longer(
    week: dict[str, list[Stretch]],
) -> None:
    for activity, longest in shape_of(week).longest.items():
        lengths = []
        for stretches in week.values():
            for first, last in combinations(range(len(stretches) + 1), 2):
                run = stretches[first:last]
                touching = all(one.end == two.start for one, two in zip(run, run[1:], strict=False))
                shares = [dict(one.credits).get(activity) for one in run]
                if touching and None not in shares:
                    lengths.append(sum(filter(None, shares)))
        assert longest.minutes == max(lengths)


@given(WEEKS)
def test_the_share_before_midday_is_that_of_minutes_spread_evenly(week: dict[str, list[Stretch]]) -> None:
    for activity, when in shape_of(week).when.items():
        early = whole = Fraction(0)
        for stretches in week.values():
            for one in stretches:
                share = Fraction(dict(one.credits).get(activity, 0), one.end - one.start)
                whole += share * (one.end - one.start)
                early += share * sum(minute < 720 for minute in range(one.start, one.end))
        assert when.before_midday == early / whole
        held = [one for some in week.values() for one in some if activity in dict(one.credits)]
        assert (when.first, when.last) == (min(one.start for one in held), max(one.end for one in held))


@given(ORDERS, ORDERS)
def test_without_what_is_out_of_order_the_rest_is_in_one_order_and_fewer_would_not_do(
    here: list[str], there: list[str]
) -> None:
    moved = out_of_order(here, there)
    shared = [one for one in here if one in there]

    def agree(left_out: list[str]) -> bool:
        return [one for one in shared if one not in left_out] == [
            one for one in there if one in shared and one not in left_out
        ]

    assert agree(moved)
    assert moved == [one for one in shared if one in moved]
    assert not any(agree(list(fewer)) for n in range(len(moved)) for fewer in combinations(shared, n))


def test_a_block_cut_in_two_that_touch_is_one_stretch_and_no_change() -> None:
    whole = shape_of({"mon": [plain(480, 570, "math"), plain(570, 600, "art")]})
    cut = shape_of({"mon": [plain(480, 520, "math"), plain(520, 570, "math"), plain(570, 600, "art")]})
    assert whole == cut
    assert whole.longest["math"] == Longest(90, "mon", 480, 570)
    assert whole.changes == {"mon": 1} and whole.longest_of_all == ("math", Longest(90, "mon", 480, 570))


def test_recess_and_lunch_that_the_school_fixes_count_as_changes_and_as_minutes() -> None:
    bell = Bell(480, 870, (FixedStretch(600, 620, "recess"), FixedStretch(720, 750, "lunch")))
    columns: Columns = {("mon", "regular"): (Block(480, 600, "reading"), Block(620, 720, "math"))}
    shape = shape_of(days_of(columns, {"regular": bell}, dict.fromkeys(DAYS, "regular")))
    assert shape.changes == {"mon": 3}, "days without a block are not asked how often they change"
    assert shape.changes_a_day == 3
    assert shape.minutes == {"reading": 120, "recess": 100, "math": 100, "lunch": 150}
    assert shape.order == ("reading", "recess", "math", "lunch")


def test_what_an_integrated_block_credits_counts_and_its_name_does_not() -> None:
    block = Stretch(700, 740, "projects", (Credit("science", 20), Credit("art", 10)))
    shape = shape_of({"mon": [block, plain(740, 760, "science")]})
    assert shape.minutes == {"science": 200, "art": 50}
    assert shape.longest["science"].minutes == 40
    assert shape.when["art"] == (700, 740, Fraction(1, 2))


@pytest.mark.parametrize(("round_of", "minutes"), [(5, 30), (6, 25), (10, 15)])
def test_a_longer_round_is_told_as_an_ordinary_week(round_of: int, minutes: int) -> None:
    held: dict[str, list[Stretch]] = {str(n): [] for n in range(round_of)}
    held["0"] = [plain(480, 510, "art")]
    assert shape_of(held).minutes == {"art": minutes}


def test_an_empty_week_has_no_shape() -> None:
    shape = shape_of({"mon": []})
    assert not shape.minutes and not shape.order and not shape.longest and not shape.changes
    assert shape.changes_a_day == 0 and shape.longest_of_all is None
