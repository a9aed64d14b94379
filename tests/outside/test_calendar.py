"""School days against independent counts: numpy's business-day functions and the holidays package."""

import datetime as dt
import random

import holidays
import numpy as np
import pytest

from scheduling.minutes.year import Year
from teamroom.dates.calendar_maths import Cycle, school_days
from teamroom.school_file.plans import year_of as calendar_of
from tests.outside.schools import CLOSED, FIRST_DAY, blocks, closed_dates, every_day, read, school, year_of

Span = tuple[dt.date, dt.date]


def days_with_pupils(first: dt.date, last: dt.date, closed: list[Span]) -> list[dt.date]:
    return [day.date for day in school_days(first, last, cycle=Cycle(), closed=closed)]


def random_closures(pick: random.Random, first: dt.date, last: dt.date) -> list[Span]:
    """Up to a dozen spans that may overlap, touch weekends or lie partly outside the year."""
    spans = []
    for _ in range(pick.randint(0, 12)):
        start = first + dt.timedelta(days=pick.randint(-10, (last - first).days + 10))
        spans.append((start, start + dt.timedelta(days=pick.choice((0, 0, 0, 1, 4, 13)))))
    return spans


@pytest.mark.parametrize("seed", range(40))
def test_school_days_agree_with_numpy_s_business_days(seed: int) -> None:
    # Reference: numpy.busday_count, numpy.is_busday; half-open, weekdays Monday to Friday.
    pick = random.Random(seed)  # noqa: S311 - repeatable cases, nothing secret
    first = dt.date(2020, 1, 1) + dt.timedelta(days=pick.randint(0, 4000))
    last = first + dt.timedelta(days=pick.randint(0, 400))
    closed = random_closures(pick, first, last)
    shut = closed_dates((str(start), str(end)) for start, end in closed)
    mine = days_with_pupils(first, last, closed)
    assert len(mine) == np.busday_count(first, last + dt.timedelta(days=1), holidays=shut)
    every = np.arange(str(first), np.datetime64(last) + 1, dtype="datetime64[D]")
    assert mine == every[np.is_busday(every, holidays=shut)].tolist()


@pytest.mark.parametrize("seed", range(10))
def test_weekdays_are_named_as_numpy_s_week_masks_name_them(seed: int) -> None:
    pick = random.Random(seed)  # noqa: S311 - repeatable cases, nothing secret
    first, last = dt.date(2026, 9, 8), dt.date(2027, 6, 18)
    closed = random_closures(pick, first, last)
    shut = closed_dates((str(start), str(end)) for start, end in closed)
    days = school_days(first, last, cycle=Cycle(), closed=closed)
    for mask in ("Mon", "Tue", "Wed", "Thu", "Fri"):
        named = sum(day.cycle_day == mask.lower() for day in days)
        assert named == np.busday_count(first, last + dt.timedelta(days=1), weekmask=mask, holidays=shut)


@pytest.mark.parametrize(
    ("first", "last", "count"),
    [
        # Published examples of numpy.busday_count (numpy documentation):
        # January 2011 has 21 business days, the year 2011 has 260.
        (dt.date(2011, 1, 1), dt.date(2011, 1, 31), 21),
        (dt.date(2011, 1, 1), dt.date(2011, 12, 31), 260),
    ],
)
def test_published_counts_of_weekdays_come_out(first: dt.date, last: dt.date, count: int) -> None:
    assert len(days_with_pupils(first, last, [])) == count


def worked_year(closed: list[Span]) -> list[dt.date]:
    return days_with_pupils(dt.date(2026, 9, 8), dt.date(2027, 6, 18), closed)


def test_the_worked_school_year_has_204_then_195_then_180_days() -> None:
    # An invented calendar on which two independent programs agreed: 204 weekdays, 195 without the federal holidays,
    # 180 without all closures, the last of them Thursday 2027-06-17.
    federal: list[Span] = [(date, date) for date in observed(2026) + observed(2027)]
    closed = [(dt.date.fromisoformat(start), dt.date.fromisoformat(end)) for start, end in CLOSED]
    assert len(worked_year([])) == 204
    assert len(worked_year(federal)) == 195
    assert len(worked_year(closed)) == 180
    assert worked_year(closed)[-1] == dt.date(2027, 6, 17)


@pytest.mark.parametrize("days", [1, 60, 170, 172, 175, 180])
def test_a_year_built_to_a_number_of_days_has_them_in_the_readings_too(days: int) -> None:
    rule = {
        "key": "days",
        "name": "Days",
        "grades": ["4"],
        "pool": {"except": []},
        "days_met": {"at_least": 1, "minutes": 1},
        "window": "year",
    }
    assert read(school(year_of(days), "4", every_day(blocks(("math", 10))), [rule]), "days")["planned"] == days


def test_the_worked_year_s_last_day_is_found_by_numpy_and_by_the_calendar_alike() -> None:
    year = calendar_of({"year": year_of(180, FIRST_DAY)})
    assert isinstance(year, Year)
    assert (len(year.days), year.days[-1].date, year.last_day) == (180, dt.date(2027, 6, 17), dt.date(2027, 6, 17))


def observed(year: int) -> list[dt.date]:
    """The weekdays on which federal holidays of a year's list are observed, by the holidays package."""
    return sorted(date for date in holidays.country_holidays("US", years=year) if date.weekday() < 5)


@pytest.mark.parametrize(
    ("year", "dates"),
    [
        # Source: the government personnel office's 2008 list, archived copy (no Juneteenth then).
        (2008, "01-01 01-21 02-18 05-26 07-04 09-01 10-13 11-11 11-27 12-25"),
        # Source: a second-hand copy of the observed dates, 5 U.S.C. 6103 and Executive Order 11582.
        (2023, "01-02 01-16 02-20 05-29 06-19 07-04 09-04 10-09 11-10 11-23 12-25"),
        # Computed by hand from the rules of 5 U.S.C. 6103.
        (2026, "01-01 01-19 02-16 05-25 06-19 07-03 09-07 10-12 11-11 11-26 12-25"),
        (2027, "01-01 01-18 02-15 05-31 06-18 07-05 09-06 10-11 11-11 11-25 12-24"),
    ],
)
def test_the_holidays_package_observes_the_federal_holidays_as_published(year: int, dates: str) -> None:
    next_new_year = {dt.date(2027, 12, 31)}
    assert [f"{date:%m-%d}" for date in observed(year) if date not in next_new_year] == dates.split()


def test_independence_day_on_a_saturday_is_observed_on_the_friday_before() -> None:
    # Source: a second-hand copy of the 2009 list: 4 July was a Saturday, observed on Friday 3 July.
    assert dt.date(2009, 7, 3) in observed(2009)


def test_new_year_s_day_on_a_saturday_is_observed_in_the_year_before() -> None:
    # Computed by hand from 5 U.S.C. 6103(b): 1 January 2028 is a Saturday.
    assert dt.date(2027, 12, 31) in observed(2027) + observed(2028)
