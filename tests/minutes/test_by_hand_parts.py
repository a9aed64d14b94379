"""Both counters, counted by hand: what a part of a rule counts of the pieces of a day."""

from fractions import Fraction
from typing import Any

import pytest

from tests.minutes.naive.small import bell, columns, parts, planned, school, year

pytestmark = pytest.mark.usefixtures("each_counter")

RECESS = {"of": ["recess"]}


def monday(text: str, part: dict[str, Any], **more: Any) -> Fraction:
    """The planned figure of Monday alone, with these blocks."""
    return planned(school(columns(text, ["mon"]), **more), {"at_least": 1, "window": "day"} | part)[0]


def the_week(text: str, part: dict[str, Any], **more: Any) -> Fraction:
    """The planned figure of a week of five days that all hold these blocks."""
    test = {} if {"unbroken", "days_met", "share", "at_most"} & set(part) else {"at_least": 1}
    return planned(school(columns(text), **more), test | {"window": "week"} | part)[0]


# Pool


def test_a_pool_is_a_set_or_everything_except_a_set_or_by_default_everything() -> None:
    text = "08:00-08:10 math, 08:10-08:30 recess, 08:30-09:00 lunch"
    assert monday(text, {"pool": {"of": ["math", "recess"]}}) == 30
    assert monday(text, {"pool": {"except": ["recess"]}}) == 40
    assert monday(text, {}) == 60


# Not beside


@pytest.mark.parametrize("text", ["08:00-08:20 recess, 08:20-08:50 lunch", "08:00-08:30 lunch, 08:30-08:50 recess"])
def test_recess_that_touches_lunch_on_either_side_does_not_count(text: str) -> None:
    assert monday(text, {"pool": RECESS, "not_beside": [{"activity": "recess", "beside": "lunch"}]}) == 0


def test_recess_a_minute_away_from_lunch_counts() -> None:
    text = "08:00-08:20 recess, 08:21-08:50 lunch"
    assert monday(text, {"pool": RECESS, "not_beside": [{"activity": "recess", "beside": "lunch"}]}) == 20


def test_one_piece_beside_lunch_takes_its_whole_stretch_but_no_other() -> None:
    # 10 + 15 join and touch lunch at 08:25; the 5 at 10:00 stand apart.
    text = "08:00-08:10 recess, 08:10-08:25 recess, 08:25-08:50 lunch, 10:00-10:05 recess"
    assert monday(text, {"pool": RECESS, "not_beside": [{"activity": "recess", "beside": "lunch"}]}) == 5


def test_an_integrated_block_is_not_beside_itself_but_its_neighbours_are_beside_it() -> None:
    beside = [{"activity": "recess", "beside": "lunch"}]
    both = "08:00-08:30 x:recess=10+lunch=20"
    assert monday(both, {"pool": RECESS, "not_beside": beside}) == 10
    # The recess at 08:30 touches a piece that credits lunch, and the two recesses are one stretch.
    assert monday(both + ", 08:30-08:40 recess", {"pool": RECESS, "not_beside": beside}) == 0


def test_recess_beside_lunch_leaves_the_rest_of_its_block_and_breaks_the_stretch() -> None:
    # Lunch 08:00, a block of 10 math and 5 recess, math: the recess goes, the math still joins: 30.
    beside = {"not_beside": [{"activity": "recess", "beside": "lunch"}], "pool": {"except": ["lunch"]}}
    text = "07:30-08:00 lunch, 08:00-08:15 x:math=10+recess=5, 08:15-08:35 math"
    assert monday(text, beside | {"sitting": 30}) == 30
    # Pure recess between two maths is taken out before joining: no stretch of 25 is left.
    text = "08:00-08:10 math, 08:10-08:20 recess, 08:20-08:30 lunch"
    assert monday(text, beside | {"sitting": 15}) == 0


def test_a_fixed_stretch_is_touched_like_a_block_and_a_day_changes_credits_never_are() -> None:
    beside = [{"activity": "recess", "beside": "lunch"}]
    bells = [bell("regular", "08:00", "12:00", "10:00-10:30 lunch")]
    part = {"pool": RECESS, "not_beside": beside}
    assert monday("09:40-10:00 recess", part, bell_schedules=bells) == 0
    outing = {"date": "2025-09-01", "name": "Outing", "from": "09:40", "to": "10:00"}
    outing["credits"] = [{"activity": "recess", "minutes": 20}]  # type: ignore[assignment]  # the other values are text
    assert monday("", part, bell_schedules=bells, day_changes=[outing]) == 20


# Joining and sitting


def test_pieces_of_the_pool_join_across_activities_and_a_stretch_is_what_it_credits() -> None:
    # 20 math, then 30 minutes that credit 10 science: one stretch of 30.
    text = "08:00-08:20 math, 08:20-08:50 x:science=10"
    assert monday(text, {"sitting": 30}) == 30
    assert monday(text, {"sitting": 31}) == 0


@pytest.mark.parametrize("between", ["08:20-08:21 lunch", ""])
def test_anything_between_and_also_nothing_breaks_a_stretch(between: str) -> None:
    text = "08:00-08:20 math, " + between + ", 08:21-08:31 math"
    assert monday(text, {"pool": {"of": ["math"]}, "sitting": 20}) == 20


def test_a_piece_that_credits_the_pool_nothing_breaks_a_stretch() -> None:
    # Clipped to 1 of 10 minutes, a block of 5 credits floor(5 x 1 / 10) = 0 to anything.
    calendar = year(days=[{"date": "2025-09-01", "kind": "minimum"}])
    bells = [bell("minimum", "08:09", "10:00")]
    text = "08:00-08:10 x:math=5, 08:10-08:30 math"
    part = {"at_least": 1, "window": "day", "pool": {"of": ["math"]}}
    assert planned(school(columns(text), calendar, bell_schedules=bells), part)[0] == 20


def test_a_day_changes_credits_are_one_stretch_that_joins_no_neighbour() -> None:
    # 10 + 10 credited in one stretch of 20; the math on either side is 15 each.
    outing: dict[str, Any] = {"date": "2025-09-01", "name": "Outing", "from": "08:15", "to": "08:45"}
    outing["credits"] = [{"activity": "math", "minutes": 10}, {"activity": "arts", "minutes": 10}]
    text = "08:00-08:45 math, 08:45-09:00 math"
    assert monday(text, {"sitting": 16}, day_changes=[outing]) == 20
    assert monday(text, {}, day_changes=[outing]) == 50


# Caps


def test_a_cap_per_sitting_looks_at_stretches_of_its_own_activity() -> None:
    # Recess 10 + 10 join (15 of 20 count); recess 12 stands alone (12); math 30 is not capped.
    text = "08:00-08:10 recess, 08:10-08:20 recess, 08:20-08:50 math, 08:50-09:02 recess"
    caps = [{"activity": "recess", "at_most": 15, "per": "sitting"}]
    assert monday(text, {"caps": caps}) == 15 + 30 + 12


def test_sitting_is_judged_before_caps() -> None:
    caps = [{"activity": "recess", "at_most": 5, "per": "sitting"}]
    assert monday("08:00-08:20 recess", {"sitting": 20, "caps": caps}) == 5


def test_a_cap_is_per_day_by_default() -> None:
    caps = [{"activity": "recess", "at_most": 15}]
    text = "08:00-08:10 recess, 09:00-09:10 recess, 10:00-10:30 math"
    assert the_week(text, {"caps": caps}) == 5 * (15 + 30)


def test_a_cap_on_an_activity_outside_the_pool_changes_nothing() -> None:
    caps = [{"activity": "recess", "at_most": 5}]
    assert monday("08:00-08:10 math, 09:00-09:10 recess", {"pool": {"of": ["math"]}, "caps": caps}) == 10


@pytest.mark.parametrize("per", ["sitting", "day", "week", "year"])
@pytest.mark.parametrize("limits", [(5, 9), (9, 5)])
def test_of_two_caps_of_one_kind_the_stricter_holds(per: str, limits: tuple[int, int]) -> None:
    caps = [{"activity": "recess", "at_most": limit, "per": per} for limit in limits]
    assert monday("08:00-08:10 recess", {"caps": caps}) == 5


def test_a_cap_per_week_applies_to_each_calendar_week_inside_the_window() -> None:
    # Thursday 4 to Monday 8: two days of 10 make 15 of 20, then 10 of the next week.
    calendar = year("2025-09-04", "2025-09-08")
    caps = [{"activity": "recess", "at_most": 15, "per": "week"}]
    part = {"at_least": 1, "window": "year", "caps": caps}
    assert planned(school(columns("08:00-08:10 recess"), calendar), part) == [25]


def test_a_cap_per_year_applies_to_the_windows_total_after_the_weekly_one() -> None:
    caps = [{"activity": "recess", "at_most": 22, "per": "year"}, {"activity": "recess", "at_most": 15, "per": "week"}]
    calendar = year("2025-09-04", "2025-09-08")
    part = {"at_least": 1, "window": "year", "caps": caps}
    assert planned(school(columns("08:00-08:10 recess, 09:00-09:05 math"), calendar), part) == [22 + 15]


def test_a_share_cap_is_of_the_prorated_requirement_unrounded() -> None:
    # Four of five days: 101 x 4/5 = 80.8; a tenth is 8.08 of 40 recess; math 4 x 20.
    closed = [{"from": "2025-09-05", "to": "2025-09-05", "name": "Closed"}]
    caps = [{"activity": "recess", "at_most_share": "1/10"}]
    file = school(columns("08:00-08:10 recess, 09:00-09:20 math"), year(closed=closed))
    assert planned(file, {"at_least": 101, "caps": caps}) == [80 + Fraction("8.08")]


def test_with_a_mean_a_share_cap_limits_the_activitys_mean() -> None:
    # Required 40 a day: recess counts up to 4 of its mean of 10, math 20.
    caps = [{"activity": "recess", "at_most_share": "1/10"}]
    text = "08:00-08:10 recess, 09:00-09:20 math"
    assert the_week(text, {"at_least": 40, "mean": "day", "caps": caps}) == 24


# Tests


def test_unbroken_is_the_longest_stretch_and_one_below_the_sitting_is_none() -> None:
    text = "08:00-08:20 math, 08:20-08:40 reading, 09:00-09:30 math"
    assert the_week(text, {"unbroken": 45}) == 40
    assert the_week(text, {"unbroken": 45, "sitting": 41}) == 0


def test_days_met_counts_days_from_so_many_minutes_or_from_one() -> None:
    week = columns("08:00-08:30 pe", ["mon", "wed"]) + columns("08:00-08:01 pe", ["fri"])
    assert planned(school(week), {"days_met": {"at_least": 3}}) == [3]
    assert planned(school(week), {"days_met": {"at_least": 3, "minutes": 30}}) == [2]


def test_days_met_obeys_caps_per_sitting_and_day_and_no_others() -> None:
    test = {"days_met": {"at_least": 1, "minutes": 10}}
    for per, met in [("sitting", 0), ("day", 0), ("week", 5), ("year", 5)]:
        caps = [{"activity": "pe", "at_most": 9, "per": per}]
        assert the_week("08:00-08:20 pe", test | {"caps": caps}) == met


def test_a_share_compares_minutes_with_a_base_that_knows_no_cap_sitting_or_not_beside() -> None:
    # Pool: math 30, recess capped to 5. Base: everything, 30 + 15 + 5 = 50 (the 5 pe sit too short).
    text = "08:00-08:30 math, 09:00-09:15 recess, 10:00-10:05 pe"
    part = {
        "share": {"at_least": "3/4", "of": {"except": []}},
        "caps": [{"activity": "recess", "at_most": 5}],
        "sitting": 10,
        "window": "day",
    }
    found = parts(school(columns(text)), part)[0]
    assert (found["required"], found["planned"]) == (Fraction(3, 4), Fraction(35, 50))
    assert found["margin"] == 35 - Fraction("37.5")
    assert found["status"] == "short"


def test_a_share_of_nothing_is_met_with_planned_and_margin_nought() -> None:
    part = {"share": {"at_least": "3/4", "of": {"of": ["arts"]}}}
    found = parts(school(columns("08:00-08:30 math")), part)[0]
    assert (found["planned"], found["margin"], found["status"]) == (0, 0, "met")


@pytest.mark.parametrize(
    ("test", "margin", "status"),
    [
        ({"at_least": 100}, 0, "met"),
        ({"at_least": 101}, -1, "short"),
        ({"at_most": 100}, 0, "met"),
        ({"at_most": 99}, -1, "over"),
        ({"at_most": 110}, 10, "met"),
        ({"recommended": 101}, -1, "below advice"),
        ({"recommended": 90}, 10, "met"),
        ({"unbroken": 21}, -1, "short"),
        ({"days_met": {"at_least": 6}}, -1, "short"),
    ],
)
def test_margin_and_status_follow_the_test_alone(test: dict[str, Any], margin: int, status: str) -> None:
    # Five days of 20 minutes.
    found = parts(school(columns("08:00-08:20 math")), test | {"standing": "advice"})[0]
    assert (found["margin"], found["status"]) == (margin, status)


def test_a_mean_divides_by_all_school_days_planned_or_not() -> None:
    # 2 x 50 minutes over five days: 20 a day, 100 per five days.
    file = school(columns("08:00-08:50 math", ["mon", "tue"]))
    assert planned(file, {"at_least": 1, "mean": "day"}) == [20]
    assert planned(file, {"at_least": 1, "mean": "week"}) == [100]


def test_a_mean_of_some_day_kinds_divides_by_the_days_of_those_kinds() -> None:
    # Three regular days, of which two hold 50: 100 / 3.
    calendar = year(days=[{"date": f"2025-09-0{day}", "kind": "minimum"} for day in [4, 5]])
    file = school(columns("08:00-08:50 math", ["mon", "tue", "fri"]), calendar)
    assert planned(file, {"at_least": 1, "mean": "day", "day_kinds": ["regular"]}) == [Fraction(100, 3)]
