"""The suggested holidays against the federal law that names them.

Source: 5 U.S.C. 6103(a), which says on which day each legal public holiday falls, and (b), which puts one on
a Saturday on the Friday before for who works Monday to Friday; Executive Order 11582, section 3(a), puts
one on a Sunday on the Monday after. The dates here are worked out from those words by other arithmetic
than the package's. (The personnel office's own lists could not be opened here; copies of its lists of
2008 and 2023 are held against the package in `test_calendar.py`.)
"""

import calendar
import datetime as dt

import pytest

from scheduling.calendar_reading.known_holidays import holidays_between

MON, THU = 0, 3
NTH = {(1, 3, MON), (2, 3, MON), (5, -1, MON), (9, 1, MON), (10, 2, MON), (11, 4, THU)}
FIXED = {(1, 1), (6, 19), (7, 4), (11, 11), (12, 25)}


def by_the_statute(year: int) -> set[dt.date]:
    """The eleven legal public holidays of a year, on the days that the law names."""
    found = {dt.date(year, month, day) for month, day in FIXED}
    for month, nth, weekday in NTH:
        days = [week[weekday] for week in calendar.monthcalendar(year, month) if week[weekday]]
        found.add(dt.date(year, month, days[nth - 1 if nth > 0 else nth]))
    return found


def observed(date: dt.date) -> dt.date:
    return date + dt.timedelta(days={5: -1, 6: 1}.get(date.weekday(), 0))


@pytest.mark.parametrize("begins", [2025, 2026, 2027, 2028, 2031])
def test_a_school_year_s_federal_holidays_are_those_of_the_law_and_the_days_they_are_observed_on(begins: int) -> None:
    first, last = dt.date(begins, 7, 1), dt.date(begins + 1, 6, 30)
    legal = {date for year in (begins, begins + 1, begins + 2) for date in by_the_statute(year)}
    due = {date for date in legal | {observed(date) for date in legal} if first <= date <= last}
    assert {one.date for one in holidays_between(first, last, "") if one.is_federal} == due


def test_the_weekdays_of_2026_27_are_closed_as_the_law_has_them() -> None:
    # Worked out by hand from the statute's words. 1 January 2028 is a Saturday, so 31 December 2027 is outside.
    found = holidays_between(dt.date(2026, 8, 24), dt.date(2027, 6, 30), "")
    weekdays = [f"{one.date:%Y-%m-%d}" for one in found if one.date.weekday() < 5]
    assert weekdays == [
        "2026-09-07",
        "2026-10-12",
        "2026-11-11",
        "2026-11-26",
        "2026-12-25",
        "2027-01-01",
        "2027-01-18",
        "2027-02-15",
        "2027-05-31",
        "2027-06-18",
    ]


def test_a_state_adds_its_own_and_takes_no_federal_one_away() -> None:
    first, last = dt.date(2026, 8, 24), dt.date(2027, 6, 30)
    federal = {one.date for one in holidays_between(first, last, "")}
    texas = holidays_between(first, last, "US-TX")
    assert {one.date for one in texas if one.is_federal} == federal
    # Source: Texas Government Code 662.003, from memory: Texas Independence Day is March 2.
    assert ("Texas Independence Day", dt.date(2027, 3, 2), False) in [
        (one.name, one.date, one.is_federal) for one in texas
    ]


@pytest.mark.parametrize("place", ["", "US-ZZ", "DE-BY", "nonsense", "US-"])
def test_a_place_nobody_knows_has_the_federal_ones_alone(place: str) -> None:
    assert all(one.is_federal for one in holidays_between(dt.date(2026, 8, 24), dt.date(2027, 6, 30), place))
