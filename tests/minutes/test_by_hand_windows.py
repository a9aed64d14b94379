"""Both counters, counted by hand: windows, short windows, effective dates and verdicts."""

from datetime import date
from fractions import Fraction
from typing import Any

import pytest

from tests.minutes.naive.counter import naive_readings, shown
from tests.minutes.naive.small import columns, parts, planned, readings, required, school, spans, verdict, year

pytestmark = pytest.mark.usefixtures("each_counter")

TEN = "08:00-08:10 math"
LATER_TWENTY = "08:00-08:20 math"


def closing(*dates: str) -> list[dict[str, Any]]:
    return [{"date": on, "name": "Closed", "closed": True} for on in dates]


# Weeks


def test_a_week_runs_from_its_first_to_its_last_school_day_of_the_classroom() -> None:
    file = school(columns(TEN), year(last="2025-09-12"), day_changes=closing("2025-09-01", "2025-09-12"))
    assert spans(file, {"at_least": 50}) == [("09-02", "09-05"), ("09-08", "09-11")]


def test_a_week_without_a_school_day_is_no_window() -> None:
    closed = [{"from": "2025-09-08", "to": "2025-09-12", "name": "Break"}]
    assert len(spans(school(columns(TEN), year(last="2025-09-19", closed=closed)), {"at_least": 50})) == 2


@pytest.mark.parametrize(
    ("policy", "figures"),
    [({}, [Fraction(50 * 4, 5), 50]), ({"short_window": "full"}, [50, 50]), ({"short_window": "skip"}, [50])],
)
def test_a_short_week_is_prorated_by_default(policy: dict[str, str], figures: list[Fraction]) -> None:
    # Closed for this classroom on the first Monday: four days.
    file = school(columns(TEN), year(last="2025-09-12"), day_changes=closing("2025-09-01"))
    assert required(file, {"at_least": 50} | policy) == figures


def test_a_week_of_six_days_asks_for_no_more() -> None:
    named = [{"date": "2025-09-06", "kind": "regular"}]
    assert required(school(columns(TEN), year(last="2025-09-06", days=named)), {"at_least": 50}) == [50]


@pytest.mark.parametrize("test", [{"at_most": 50}, {"recommended": 50}, {"days_met": {"at_least": 50}}])
def test_prorating_changes_the_other_minutes_and_days_met_as_an_exact_fraction(test: dict[str, Any]) -> None:
    assert required(school(columns(TEN), year(last="2025-09-03")), test) == [30]


def test_a_prorated_figure_is_not_rounded() -> None:
    found = parts(school(columns(TEN), year(last="2025-09-03")), {"days_met": {"at_least": 4}})[0]
    assert (found["required"], found["margin"]) == (Fraction(12, 5), Fraction(3, 5))


@pytest.mark.parametrize(
    ("part", "figure"),
    [
        ({"at_least": 50, "mean": "week"}, 50),
        ({"unbroken": 10}, 10),
        ({"share": {"at_least": "1/2", "of": {"except": []}}}, Fraction(1, 2)),
    ],
)
def test_means_shares_and_unbroken_stretches_stay_full_in_a_short_week(part: dict[str, Any], figure: Fraction) -> None:
    assert required(school(columns(TEN), year(last="2025-09-03")), part | {"short_window": "prorate"}) == [figure]


# Runs


def test_fixed_runs_begin_at_the_classrooms_first_school_day_and_the_last_short_one_is_skipped() -> None:
    # School days 2 3 4 | 5 8 9 | 10.
    file = school(columns(TEN), year(last="2025-09-10"), day_changes=closing("2025-09-01"))
    part = {"at_least": 30, "run": {"days": 3}}
    assert spans(file, part) == [("09-02", "09-04"), ("09-05", "09-09")]
    assert required(file, part | {"short_window": "prorate"}) == [30, 30, 10]
    assert required(file, part | {"short_window": "full"}) == [30, 30, 30]


def test_rolling_runs_are_every_run_and_never_short() -> None:
    part = {"at_least": 20, "window": "run", "run": {"days": 4, "rolling": True}, "short_window": "prorate"}
    assert spans(school(columns(TEN)), part) == [("09-01", "09-04"), ("09-02", "09-05")]
    assert required(school(columns(TEN)), part) == [20, 20]


def test_a_year_of_exactly_a_rolling_runs_days_is_one_run_and_not_short() -> None:
    part: dict[str, Any] = {"at_least": 20, "run": {"days": 5, "rolling": True}}
    assert spans(school(columns(TEN)), part) == [("09-01", "09-05")]


def test_a_year_of_fewer_days_than_a_rolling_run_is_one_short_run() -> None:
    part: dict[str, Any] = {"at_least": 20, "run": {"days": 8, "rolling": True}}
    assert spans(school(columns(TEN)), part) == []
    assert required(school(columns(TEN)), part | {"short_window": "prorate"}) == [Fraction(20 * 5, 8)]


# Months and the year


def test_a_month_not_wholly_inside_the_year_is_skipped_unless_checked_in_full() -> None:
    # 15 August to 30 September: August is cut, September whole (its last day is a Tuesday).
    file = school(columns(TEN), year("2025-08-15", "2025-09-30"))
    assert spans(file, {"at_least": 1, "window": "month"}) == [("09-01", "09-30")]
    assert spans(file, {"at_least": 1, "window": "month", "short_window": "full"})[0] == ("08-15", "08-29")


def test_a_month_whose_last_date_lies_outside_the_year_is_short_though_that_date_is_a_weekend() -> None:
    # Friday 29 August ends the year; 30 and 31 August are a weekend, yet not in it.
    file = school(columns(TEN), year("2025-08-01", "2025-08-29"))
    assert spans(file, {"at_least": 1, "window": "month"}) == []


def test_the_year_is_one_window_and_always_full() -> None:
    file = school(columns(TEN), year(last="2025-09-10"), day_changes=closing("2025-09-10"))
    assert spans(file, {"at_least": 900, "window": "year"}) == [("09-01", "09-09")]
    assert required(file, {"at_least": 900, "window": "year"}) == [900]


# Day kinds and effective dates


def test_day_kinds_pick_the_days_after_windows_are_built_and_called_short() -> None:
    # Monday and Tuesday are minimum days; the week has five days, so the figure is full.
    calendar = year(last="2025-09-12", days=[{"date": f"2025-09-0{day}", "kind": "minimum"} for day in [1, 2]])
    file = school(columns(TEN), calendar)
    part = {"at_least": 50, "day_kinds": ["minimum"]}
    assert spans(file, part) == [("09-01", "09-05")]
    assert required(file, part) == [50]
    assert planned(file, part) == [20]
    assert spans(file, part | {"window": "day"}) == [("09-01", "09-01"), ("09-02", "09-02")]


def test_day_kinds_change_neither_what_a_short_week_asks_for_nor_whether_it_is_in_force() -> None:
    # Four school days, of which Wednesday alone is a minimum day: 50 x 4/5, judged by Monday.
    calendar = year(last="2025-09-04", days=[{"date": "2025-09-03", "kind": "minimum"}])
    part = {"at_least": 50, "day_kinds": ["minimum"]}
    assert required(school(columns(TEN), calendar), part) == [40]
    assert spans(school(columns(TEN), calendar), part | {"effective": {"from": "2025-09-02"}}) == []


@pytest.mark.parametrize(
    ("effective", "first_days"),
    [
        ({"from": "2025-09-02"}, ["09-02", "09-08"]),
        ({"from": "2025-09-03"}, ["09-08"]),
        ({"to": "2025-09-08"}, ["09-02", "09-08"]),
        ({"from": "2025-09-01", "to": "2025-09-07"}, ["09-02"]),
        ({"from": "", "to": ""}, ["09-02", "09-08"]),
        ({"from": "2020-01-01", "to": "2030-01-01"}, ["09-02", "09-08"]),
    ],
)
def test_a_window_is_in_force_by_its_first_school_day_both_dates_inclusive(
    effective: dict[str, str], first_days: list[str]
) -> None:
    file = school(columns(TEN), year(last="2025-09-12"), day_changes=closing("2025-09-01"))
    assert [first for first, _ in spans(file, {"at_least": 1, "effective": effective})] == first_days


# The worst window, so far, verdicts


def test_the_worst_window_is_the_earliest_of_equals_and_comes_with_the_count_of_short_ones() -> None:
    # Weeks of 50, 40, 40 against 50 in full: two fall short, the second week stands for all.
    changes = [{"date": on, "name": "Assembly", "from": "08:00", "to": "08:10"} for on in ["2025-09-09", "2025-09-16"]]
    file = school(columns(TEN), year(last="2025-09-19"), day_changes=changes)
    worst, whole = readings(file, {"at_least": 50}, windows="worst")
    assert (worst["window"]["from"], worst["margin"], worst["short_windows"]) == ("2025-09-08", -10, 2)
    assert whole["short_windows"] is None
    assert "short_windows" not in readings(file, {"at_least": 50})[0]


def test_so_far_is_the_same_figure_before_the_date_and_only_for_the_year() -> None:
    # Caps per week hold in so_far too: 30 of 50, then Monday's 10.
    file = school(columns(TEN), year(last="2025-09-12"))
    part = {"at_least": 1, "window": "year", "caps": [{"activity": "math", "at_most": 30, "per": "week"}]}
    assert [(r["planned"], r["so_far"]) for r in parts(file, part, as_of="2025-09-09")] == [(60, 40)]
    assert [r["so_far"] for r in parts(file, part | {"window": "month", "short_window": "full"})] == [None]


def test_a_mean_so_far_divides_by_the_days_so_far() -> None:
    file = school(columns(LATER_TWENTY, ["mon"]))
    part = {"at_least": 1, "window": "year", "mean": "day"}
    assert [r["so_far"] for r in parts(file, part, as_of="2025-09-03")] == [10]
    assert [r["so_far"] for r in parts(file, part, as_of="2025-09-01")] == [0]


ENOUGH = {"at_least": 50}
TOO_LITTLE = {"at_least": 51}
TOO_MUCH = {"at_most": 49}
BELOW = {"recommended": 51}
NO_WINDOW = {"at_least": 1, "window": "month"}


@pytest.mark.parametrize(
    ("rule", "status"),
    [
        (ENOUGH, "met"),
        (TOO_LITTLE, "short"),
        ({"all": [ENOUGH, BELOW]}, "below advice"),
        ({"all": [BELOW, TOO_MUCH]}, "over"),
        ({"all": [TOO_MUCH, BELOW, TOO_LITTLE]}, "short"),
        ({"any": [TOO_LITTLE, ENOUGH]}, "met"),
        ({"any": [BELOW, TOO_MUCH]}, "over"),
        ({"all": [NO_WINDOW, ENOUGH]}, "met"),
        ({"any": [NO_WINDOW, TOO_LITTLE]}, "short"),
        (NO_WINDOW, None),
        ({"any": [NO_WINDOW, NO_WINDOW]}, None),
        ({"not_checkable": "groups of pupils"}, "not checkable"),
    ],
)
def test_the_verdict_of_a_rule(rule: dict[str, Any], status: str | None) -> None:
    assert verdict(school(columns(TEN)), rule) == status


def test_a_verdict_has_no_window_and_no_figures_and_a_part_keeps_its_place() -> None:
    found = readings(school(columns(TEN)), {"all": [NO_WINDOW, ENOUGH]})
    assert [reading["part"] for reading in found] == [1, None]
    assert [found[1][key] for key in ["window", "required", "planned", "margin", "so_far"]] == [None] * 5


def test_a_rule_that_is_not_checkable_gives_only_its_verdict() -> None:
    assert len(readings(school(columns(TEN)), {"not_checkable": "groups of pupils"})) == 1


def test_a_combination_class_answers_to_each_of_its_grades_that_the_rule_names() -> None:
    file = school(columns(TEN), classrooms=[{"key": "room1", "team": "lower", "grades": ["5", "3"]}])
    found = readings(file, {"at_least": 50, "grades": ["3", "4", "5"]})
    assert [(reading["grade"], reading["part"]) for reading in found] == [("5", 0), ("5", None), ("3", 0), ("3", None)]
    assert readings(file, {"at_least": 50, "grades": ["4"]}) == []


def test_figures_are_shown_whole_or_to_two_decimals() -> None:
    shown_figures = [shown(Fraction(text)) for text in ["4", "100/3", "-1/8", "0"]]
    assert shown_figures == [4, 33.33, -0.12, 0]
    assert shown(None) is None
    file = school(columns(TEN), year(last="2025-09-03"))
    file["rules"] = [{"key": "r", "grades": ["4"], "at_least": 51}]
    found = naive_readings(file, date(2025, 9, 1), "worst")[0]
    assert (found["required"], found["planned"], found["margin"]) == (30.6, 30, -0.6)
