"""Rules and figures in plain English."""

import datetime as dt
from fractions import Fraction
from typing import Any

import pytest

from scheduling.minutes import figures
from scheduling.minutes.definitions import part_from, rule_from
from scheduling.minutes.words import part_said, rule_said
from scheduling.rule_library.library import all_rules

NAMES = {"pe": "PE", "math": "Mathematics", "recess": "Recess", "lunch": "Lunch", "reading": "Reading"}
KINDS = {"regular": "Regular day", "minimum": "Minimum day"}
PE = {"pool": {"of": ["pe"]}}
ALL: dict[str, Any] = {"pool": {"except": []}}
WEEK_TAIL = " A week of fewer than five school days is asked its due share."

SENTENCES: list[tuple[dict[str, Any], str]] = [
    ({**PE, "at_least": 30, "window": "day"}, "At least 30 minutes of PE on each school day."),
    ({**PE, "at_least": 200}, "At least 3 hours 20 minutes of PE in each week." + WEEK_TAIL),
    ({**PE, "at_least": 100, "short_window": "skip"}, "At least 100 minutes of PE in each week. "
     "A week of fewer than five school days is left out."),
    ({**ALL, "at_most": 240, "window": "day"}, "At most 4 hours of all planned time on each school day."),
    ({"pool": {"except": ["lunch", "recess"]}, "at_least": 54000, "window": "year"},
     "At least 900 hours of all planned time except lunch and recess in the school year."),
    ({**PE, "recommended": 50, "window": "day"}, "Recommended: 50 minutes of PE on each school day."),
    ({"pool": {"of": ["math", "reading"]}, "unbroken": 90, "window": "day"},
     "One unbroken stretch of at least 90 minutes of mathematics or reading on each school day."),
    ({"pool": {"of": ["math"]}, "share": {"at_least": "1/4", "of": {"except": ["lunch"]}}},
     "At least 25% of all planned time except lunch goes to mathematics in each week."),
    ({"pool": {"of": ["math"]}, "share": {"at_least": "2/3", "of": {"except": []}}, "window": "day"},
     "At least 2/3 of all planned time goes to mathematics on each school day."),
    ({**PE, "days_met": {"at_least": 3, "minutes": 20}}, "At least 20 minutes of PE on at least 3 days in each week."
     + WEEK_TAIL),
    ({**PE, "at_least": 200, "window": "run", "run": {"days": 10}}, "At least 3 hours 20 minutes of PE in each run of "
     "10 school days. A last run of fewer than 10 school days is left out."),
    ({**PE, "at_least": 60, "window": "run", "run": {"days": 10, "rolling": True}, "mean": "day"},
     "At least 60 minutes a school day of PE, as a mean of any 10 school days in a row."),
    ({**PE, "at_least": 100, "window": "year", "mean": "week"},
     "At least 100 minutes for every five school days of PE, as a mean of the school year."),
    ({**PE, "at_least": 600, "window": "month"}, "At least 10 hours of PE in each calendar month. "
     "A month that is not wholly inside the school year is left out."),
    ({**ALL, "at_least": 60, "window": "year", "sitting": 20, "not_beside": [{"activity": "recess", "beside": "lunch"}],
      "caps": [{"activity": "recess", "at_most": 30, "per": "day"}, {"activity": "pe", "at_most_share": "15/100"}],
      "day_kinds": ["regular"]},
     "At least 60 minutes of all planned time in the school year. Only stretches of at least 20 minutes count. "
     "Recess counts for at most 30 minutes a day. PE counts for at most 15% of the requirement. "
     "Recess right beside lunch does not count. Only these days count: regular day."),
]  # fmt: skip


@pytest.mark.parametrize(("body", "said"), SENTENCES)
def test_a_part_is_said_in_sentences(body: dict[str, Any], said: str) -> None:
    assert part_said(part_from(body), NAMES, KINDS) == said


def test_a_rule_of_several_parts_says_whether_one_is_enough() -> None:
    day, week = {**PE, "at_least": 30, "window": "day"}, {**PE, "at_least": 90, "short_window": "full"}
    any_of = rule_from({"any": [day, week]}, key="k", grades=frozenset({"4"}))
    assert rule_said(any_of, NAMES, KINDS).lead == "One of these is enough:"
    assert rule_said(rule_from({"all": [day, week]}, key="k", grades=frozenset()), NAMES, KINDS).lead == (
        "All of these hold:"
    )


def test_every_rule_of_the_library_can_be_said() -> None:
    for entry in all_rules():
        if entry.body:
            rule = rule_from(entry.body, key=entry.key, grades=frozenset(entry.grades))
            said = str(rule_said(rule, {}, {}))
            assert said.endswith(".") and "_" not in said and "None" not in said, entry.key


@pytest.mark.parametrize(
    ("minutes", "said"),
    [(0, "0 min"), (120, "120 min"), (121, "2 h 01"), (-130, "\u22122 h 10"), (54000, "900 h 00")],
)
def test_minutes_are_minutes_up_to_120_and_hours_beyond(minutes: int, said: str) -> None:
    assert figures.minutes_said(minutes).replace("\u00a0", " ") == said


def test_figures_that_are_not_whole_show_two_decimals_at_most() -> None:
    assert figures.number_said(Fraction(1525, 4)) == "381.25"
    assert figures.number_said(Fraction(200, 3)) == "66.67"
    assert figures.number_said(Fraction(1, 2)) == "0.5"


def test_windows_are_named_as_people_name_them() -> None:
    first, last = dt.date(2026, 9, 7), dt.date(2026, 9, 18)
    said = {
        "day": "Mon 7 Sep",
        "week": "week of 7 Sep",
        "run": "7 Sep to 18 Sep",
        "month": "September",
        "year": "the year",
    }
    for kind, words in said.items():
        part = part_from({**PE, "at_least": 1, "window": kind, **({"run": {"days": 10}} if kind == "run" else {})})
        assert figures.window_said(part, first, last) == words


def test_a_list_of_names_with_an_and_of_their_own_stays_readable() -> None:
    assert figures.listed(["lunch", "recess"]) == "lunch and recess"
    assert figures.listed(["lunch", "passing and packing up", "recess"]) == "lunch, passing and packing up, and recess"
