"""Published bell tables, run as weeks. All sources were read as stored copies."""

import numpy as np
import pytest

from tests.outside.schools import (
    CLOSED,
    DAYS,
    School,
    around,
    at,
    blocks,
    closed_dates,
    every_day,
    library_rules,
    one_week,
    read,
    read_all,
    school,
    statuses,
    year_of,
)

ALL_TIME = {"key": "gross", "name": "All time", "grades": ["3"], "pool": {"except": []}, "at_least": 1, "window": "day"}


@pytest.mark.parametrize(
    ("start", "dismissal", "minutes"),
    [
        # Source: a California district's bell schedules, fruitvale.k12.ca.us/apps/bell_schedules:
        # gross lengths of the regular, early-release and minimum days of its schools.
        ("08:15", "14:15", 360),
        ("08:15", "15:05", 410),
        ("07:50", "14:45", 415),
        ("07:50", "13:55", 365),
        ("08:15", "12:30", 255),
        ("07:50", "11:30", 220),
    ],
)
def test_a_day_s_bell_is_as_long_as_published(start: str, dismissal: str, minutes: int) -> None:
    """The week is planned too long at both ends, so the bell alone decides the length."""
    plan = school(
        {
            **one_week(),
            "day_kinds": [{"key": "timed", "name": "Timed"}],
            "standing_kinds": [{"day": "wed", "kind": "timed"}],
        },
        "3",
        every_day(around("07:00", "16:00")),
        [ALL_TIME],
        bell_schedules=[{"grades": ["3"], "kind": "timed", "start": start, "dismissal": dismissal}],
    )
    wednesday = [reading for reading in read_all(plan, "gross") if reading["window"]["from"] == "2026-09-16"]
    assert [reading["planned"] for reading in wednesday] == [minutes]


# Source: an elementary school's bell-schedule page, sfusd.edu: instruction 7:50, dismissal 2:05, on Wednesdays 12:50;
# recess and lunch by grade band. The daily results (320 and 245) are the arithmetic 375 - 15 - 40 and 300 - 15 - 40.
BANDS = {
    "1": (("09:25", "09:40"), ("11:25", "12:05"), "us-ca-minday-1-3", 230),
    "3": (("09:45", "10:00"), ("12:10", "12:50"), "us-ca-minday-1-3", 230),
    "5": (("10:05", "10:20"), ("12:10", "12:50"), "us-ca-minday-4-8", 240),
}


def published_bells(grade: str, year: dict[str, object], *rules: str) -> School:
    """The same plain columns all week: on a Wednesday the early bell cuts them."""
    recess, lunch, _, _ = BANDS[grade]
    fixed = [
        {"activity": activity, "start": start, "end": end}
        for activity, (start, end) in (("recess", recess), ("lunch", lunch))
    ]
    week = {"key": "week", "name": "Week", "grades": [grade], "pool": {"except": ["lunch", "recess"]}, "at_least": 1525}
    return school(
        {
            **year,
            "day_kinds": [{"key": "early", "name": "Early dismissal"}],
            "standing_kinds": [{"day": "wed", "kind": "early"}],
        },
        grade,
        every_day(around("07:50", "14:05", recess, lunch)),
        [*library_rules(*rules), week],
        bell_schedules=[
            {"grades": [grade], "start": "07:50", "dismissal": "14:05", "fixed": fixed},
            {"grades": [grade], "kind": "early", "start": "07:50", "dismissal": "12:50", "fixed": fixed},
        ],
    )


@pytest.mark.parametrize("grade", BANDS)
def test_a_published_bell_schedule_gives_its_daily_and_weekly_minutes(grade: str) -> None:
    rule, owed = BANDS[grade][2:]
    plan = published_bells(grade, one_week(), rule)
    days = {reading["window"]["from"]: reading["planned"] for reading in read_all(plan, rule)}
    assert list(days.values()) == [320, 320, 245, 320, 320]
    worst = read(plan, rule)
    assert (worst["window"]["from"], worst["required"], worst["margin"]) == ("2026-09-16", owed, 245 - owed)
    assert (read(plan, "week")["planned"], read(plan, "week")["margin"]) == (1525, 0)
    assert statuses(plan) == {rule: "met", "week": "met"}


def test_a_whole_week_of_early_dismissals_still_meets_each_minimum_day() -> None:
    # Source: the same page lists three whole weeks of 12:50 dismissal.
    plan = published_bells("5", one_week(), "us-ca-minday-4-8")
    plan["year"]["standing_kinds"] = [{"day": day, "kind": "early"} for day in DAYS]
    assert [reading["planned"] for reading in read_all(plan, "us-ca-minday-4-8")] == [245] * 5
    assert read(plan, "week")["planned"] == 5 * 245
    assert statuses(plan) == {"us-ca-minday-4-8": "met", "week": "short"}


def test_the_published_bell_schedule_meets_the_year_with_its_early_days_counted_by_the_calendar() -> None:
    # Source: the same page (54,000 a year for grades 4 to 5). The early days are the Wednesdays of an invented
    # calendar, which numpy counts independently.
    plan = published_bells("5", year_of(180), "us-ca-annual-4-8")
    year = plan["year"]
    wednesdays = int(
        np.busday_count(
            year["first_day"], np.datetime64(year["last_day"]) + 1, weekmask="Wed", holidays=closed_dates(CLOSED)
        )
    )
    reading = read(plan, "us-ca-annual-4-8")
    assert reading["planned"] == 180 * 320 - wednesdays * 75
    assert reading["status"] == "met"


WISCONSIN = "us-wi-annual"


def wisconsin_day(row: list[dict[str, object]], **more: object) -> int:
    """What one day counts for the state's year."""
    year = year_of(1, "2026-09-16")
    planned = read(school(year, "3", every_day(row), library_rules(WISCONSIN), **more), WISCONSIN)["planned"]
    assert isinstance(planned, int)
    return planned


def test_wisconsin_counts_from_the_last_bell_with_pupils_in_their_rooms() -> None:
    # Source: Wisconsin DPI, dpi.wi.gov/cal/days-hours/questions:
    # bells at 8:15, 8:25 and 8:30 with pupils in their rooms; the count starts at 8:30.
    plan = school(
        {
            **year_of(1, "2026-09-16"),
            "day_kinds": [{"key": "timed", "name": "Timed"}],
            "days": [{"date": "2026-09-16", "kind": "timed"}],
        },
        "3",
        every_day(around("08:15", "15:00")),
        library_rules(WISCONSIN),
        bell_schedules=[{"grades": ["3"], "kind": "timed", "start": "08:30", "dismissal": "15:00"}],
    )
    assert read(plan, WISCONSIN)["planned"] == at("15:00") - at("08:30")


def test_wisconsin_never_counts_lunch_and_counts_recess_to_thirty_a_day() -> None:
    # Source: as above. Lunch never counts; a recess added to lunch counts if all pupils have it, to 30 a day.
    assert wisconsin_day(blocks(("english", 180), ("lunch", 30), ("math", 180))) == 360
    assert wisconsin_day(blocks(("english", 180), ("lunch", 30), ("recess", 25), ("math", 180))) == 385
    assert wisconsin_day(blocks(("english", 180), ("lunch", 30), ("recess", 40), ("math", 180))) == 390
    assert wisconsin_day(blocks(("recess", 20), ("english", 180), ("lunch", 30), ("recess", 20), ("math", 180))) == 390


def test_passing_on_both_sides_of_lunch_counts_twice_and_the_rule_says_that_one_should_come_off() -> None:
    # Source: as above. One of the two comes off; the rule cannot say so, which its note must admit.
    day = blocks(("english", 180), ("passing", 5), ("lunch", 30), ("passing", 5), ("math", 180))
    assert wisconsin_day(day) == 370
    assert "Not modelled: where passing time sits both before and after lunch" in library_rules(WISCONSIN)[0]["note"]


def test_a_parent_conference_day_has_its_own_allotment_and_no_physical_education() -> None:
    # Source: a California district's grade 3, conference day, paperzz.com doc 9167771:
    # 120 language arts + 60 mathematics = 180.
    # The rules it meets or misses are those of Education Code 46112, 46114(a) and 51210.
    keys = ("us-ca-minday-1-3", "us-ca-minday-avg10-1-3", "us-ca-pe-1-6")
    plan = school(
        {
            **year_of(10, "2026-09-14"),
            "day_kinds": [{"key": "conference", "name": "Parent conferences"}],
            "days": [{"date": "2026-09-23", "kind": "conference"}],
        },
        "3",
        [
            *every_day(blocks(("language_arts", 160), ("math", 60), ("pe", 20))),
            {"kind": "conference", "blocks": blocks(("language_arts", 120), ("math", 60))},
        ],
        library_rules(*keys),
    )
    flat = read(plan, "us-ca-minday-1-3")
    assert (flat["window"]["from"], flat["planned"], flat["margin"]) == ("2026-09-23", 180, -50)
    mean, floor = (read(plan, "us-ca-minday-avg10-1-3", part) for part in (0, 1))
    assert (mean["planned"], mean["required"]) == ((9 * 240 + 180) / 10, 230)
    assert (floor["planned"], floor["margin"], floor["short_windows"]) == (180, 10, 0)
    pe = read(plan, "us-ca-pe-1-6")
    assert (pe["planned"], pe["required"], pe["margin"]) == (180, 200, -20)
    assert statuses(plan) == dict(zip(keys, ("short", "met", "short"), strict=True))


def test_ten_day_physical_education_survives_a_day_without_it_when_the_other_days_carry_more() -> None:
    # Source: as above; 200 minutes in each ten school days, not in ten days that have PE.
    plan = school(
        {
            **year_of(10, "2026-09-14"),
            "day_kinds": [{"key": "conference", "name": "Parent conferences"}],
            "days": [{"date": "2026-09-23", "kind": "conference"}],
        },
        "3",
        [
            *every_day(blocks(("math", 60), ("pe", 23))),
            {"kind": "conference", "blocks": blocks(("language_arts", 120), ("math", 60))},
        ],
        library_rules("us-ca-pe-1-6"),
    )
    reading = read(plan, "us-ca-pe-1-6")
    assert (reading["planned"], reading["margin"]) == (9 * 23, 7)
    assert reading["status"] == "met"
