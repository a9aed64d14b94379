"""Yearly totals against published worked examples, to the minute.

Every year here is a calendar of school days that the project counts itself. All sources were
read as stored copies.
"""

from fractions import Fraction

import pytest

from scheduling.rule_library.library import jurisdiction
from tests.outside.schools import (
    blocks,
    every_day,
    library_rules,
    lost,
    offering,
    read,
    read_all,
    school,
    statuses,
    year_of,
)


def test_a_seven_hour_day_in_montana_falls_short_once_lunch_and_recess_are_out() -> None:
    # Source: a Montana newspaper, blainecountyjournal.com, 2021-11-10, on an elementary school's grades 4-6:
    # 172 days of 7 hours, 50 minutes a day of lunch and recess (8,600 in all), 1,080 hours owed, about 20 hours short.
    day = blocks(("english", 120), ("recess", 20), ("math", 100), ("lunch", 30), ("science", 150))
    rule = library_rules("us-mt-annual-4-12")
    reading = read(school(year_of(172), "5", every_day(day), rule), "us-mt-annual-4-12")
    gross = {
        "key": "gross",
        "name": "All time",
        "grades": ["5"],
        "pool": {"except": []},
        "at_least": 1,
        "window": "year",
    }
    assert read(school(year_of(172), "5", every_day(day), [gross]), "gross")["planned"] == 1204 * 60
    assert reading["planned"] == 1204 * 60 - 8600
    assert (reading["required"], reading["margin"], reading["status"]) == (1080 * 60, -1160, "short")
    assert Fraction(-reading["margin"], 60) == pytest.approx(20, abs=1)


@pytest.mark.parametrize(("days", "charter"), [((175, 180), False), ((170, 175), True)])
def test_california_s_reduced_years_are_scaled_and_rounded_to_the_nearest_minute(
    days: tuple[int, int], charter: bool
) -> None:
    # Sources: California Department of Education, cde.ca.gov/fg/au/ag/reducingit.asp (x 175/180);
    # 5 CCR 19854 (x 170/175).
    figures = {rule.key: int(rule.body.get("at_least", 0)) for rule in jurisdiction("us-ca").rules}
    for grades in ("k", "1-3", "4-8"):
        whole = figures[f"us-ca-annual-{grades}"]
        reduced = figures[f"us-ca-annual-reduced-2009-15{'-charter' if charter else ''}-{grades}"]
        assert reduced == round(whole * Fraction(*days)), grades


def test_a_reduced_year_is_met_by_175_days_and_asks_nothing_once_it_has_expired() -> None:
    # Source: as above; 175 days of the 300 minutes that the whole figure divides into are 52,500.
    key = "us-ca-annual-reduced-2009-15-4-8"
    year = year_of(175, "2010-09-07", ())
    reading = read(offering(175 * 300, 175, "4", library_rules(key), year=year), key)
    assert (reading["planned"], reading["margin"], reading["status"]) == (52_500, 0, "met")
    later = year_of(175, "2015-09-08", ())
    assert read_all(offering(175 * 300, 175, "4", library_rules(key), year=later), key) == []


@pytest.mark.parametrize(("grade", "key", "a_day"), [("K", "k", 200), ("2", "1-3", 280), ("4", "4-8", 300)])
def test_california_s_year_divides_into_whole_days_of_180(grade: str, key: str, a_day: int) -> None:
    # Source: an elementary school's bell-schedule page, sfusd.edu:
    # 36,000 / 180 = 200, 50,400 / 180 = 280, 54,000 / 180 = 300.
    rules = library_rules(f"us-ca-annual-{key}")
    plan = school(year_of(180), grade, every_day(blocks(("math", a_day))), rules)
    reading = read(plan, f"us-ca-annual-{key}")
    assert (reading["planned"], reading["margin"], reading["status"]) == (180 * a_day, 0, "met")
    plan["day_changes"] = [lost("2027-01-20", 1)]
    reading = read(plan, f"us-ca-annual-{key}")
    assert (reading["margin"], reading["status"]) == (-1, "short")


@pytest.mark.parametrize(
    ("owed", "short", "printed"),
    [
        # Sources: audit findings of 2007-08, cde.ca.gov/be/ag/ag/yr09/jul09w29a3aav.asp and jul09wc5a2aav.asp.
        # Both multiply a ratio rounded to two decimals; the shortfall itself is exact.
        (58_080, 880, Fraction("0.02")),
        (54_000, 1_910, Fraction("0.04")),
    ],
)
def test_an_audited_shortfall_is_exact_and_never_the_rounded_share(owed: int, short: int, printed: Fraction) -> None:
    rule = {
        "key": "year",
        "name": "The year",
        "grades": ["5"],
        "standing": "district",
        "at_least": owed,
        "window": "year",
    }
    reading = read(offering(owed - short, 180, "5", [{**rule, "pool": {"except": []}}]), "year")
    assert (reading["planned"], reading["margin"], reading["status"]) == (owed - short, -short, "short")
    assert round(Fraction(short, owed), 2) == printed
    assert -reading["margin"] != printed * owed


def test_a_share_is_judged_before_it_is_rounded_to_two_decimals() -> None:
    # Source of the trap: the same findings, where a ratio of 0.0354 was printed and used as .04.
    rule = {
        "key": "share",
        "name": "Share of the year",
        "grades": ["5"],
        "pool": {"of": ["english"]},
        "share": {"at_least": "96/100", "of": {"except": []}},
        "window": "year",
    }
    reading = read(school(year_of(180), "5", every_day(blocks(("english", 287), ("art", 13))), [rule]), "share")
    assert reading["planned"] == 0.96
    assert (reading["margin"], reading["status"]) == (-180, "short")


def test_ohio_s_mean_day_of_1090_hours_over_175_days() -> None:
    # Source: Ohio Department of Education, equivalent-day FAQ: 1,090 hours / 175 days = 6.23 hours.
    mean = {
        "key": "mean",
        "name": "Mean day",
        "grades": ["4"],
        "pool": {"except": []},
        "at_least": 374,
        "window": "year",
    }
    reading = read(offering(1090 * 60, 175, "4", [{**mean, "mean": "day"}]), "mean")
    assert reading["planned"] == round(1090 * 60 / 175, 2)
    assert round(reading["planned"] / 60, 2) == 6.23
    assert reading["status"] == "short"


@pytest.mark.parametrize(
    ("key", "grade", "days", "a_day", "hours"),
    [
        # Sources: edlawdawg.com (Texas, 180 x 420 = 75,600 minutes);
        # nyssba.org (New York, 180 x 5 h = 900 and x 2.5 h = 450);
        # hawaiipublicschools.org (Hawaii, 1,080 hours in 180 days).
        ("us-tx-annual-operation", "3", 180, 420, 1260),
        ("us-ny-annual-k6", "3", 180, 300, 900),
        ("us-ny-annual-half-k", "K", 180, 150, 450),
        ("us-hi-annual", "3", 180, 360, 1080),
    ],
)
def test_a_state_s_base_year_is_met_to_the_minute(key: str, grade: str, days: int, a_day: int, hours: int) -> None:
    plan = school(year_of(days), grade, every_day(blocks(("english", a_day))), library_rules(key))
    reading = read(plan, key)
    assert (reading["planned"], reading["margin"]) == (hours * 60, 0)
    assert statuses(plan) == {key: "met"}
    plan["day_changes"] = [lost("2027-03-10", 1)]
    assert (read(plan, key)["margin"], statuses(plan)) == (-1, {key: "short"})


def test_new_york_s_year_also_asks_for_180_days() -> None:
    # Source: 8 NYCRR 175.5(c), final adopted regulations on stateaid.nysed.gov:
    # 900 hours over at least 180 session days.
    plan = school(year_of(179), "3", every_day(blocks(("english", 360))), library_rules("us-ny-annual-k6"))
    hours, days = read(plan, "us-ny-annual-k6"), read(plan, "us-ny-annual-k6", 1)
    assert hours["status"] == "met"
    assert (days["planned"], days["required"], days["status"]) == (179, 180, "short")
    assert statuses(plan) == {"us-ny-annual-k6": "short"}


def test_minneapolis_hours_lie_above_the_state_s() -> None:
    # Source: a Minneapolis news site, mplsschoolsvoices.news:
    # 170 days x 6 hours = 1,020 hours, above 935 for grades 1 to 6.
    key = "us-mn-annual-1-6"
    plan = school(year_of(170), "4", every_day(blocks(("english", 360), ("lunch", 30))), library_rules(key))
    hours, days = read(plan, key), read(plan, key, 1)
    assert (hours["planned"], hours["required"], hours["margin"]) == (1020 * 60, 935 * 60, 85 * 60)
    assert (days["planned"], days["required"]) == (170, 165)
    assert statuses(plan) == {key: "met"}
