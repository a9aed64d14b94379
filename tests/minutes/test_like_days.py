"""A year is counted by its sorts of day and sorts of window, however long it is."""

import datetime as dt

import pytest

from scheduling.minutes.readings import ClassroomYear, readings
from scheduling.minutes.year import Year
from teamroom.dates.calendar_maths import Cycle, school_days
from teamroom.school_file.plans import plan_of, rules_of, year_of
from tests.bench.school import school_of


def year_of_weeks(weeks: int) -> Year:
    first = dt.date(2026, 9, 14)
    last = first + dt.timedelta(weeks=weeks, days=-3)
    return Year(school_days(first, last, cycle=Cycle()), first_day=first, last_day=last)


@pytest.mark.parametrize("weeks", [2, 36])
def test_days_laid_out_are_the_sorts_of_day_and_not_the_dates(weeks: int) -> None:
    school = school_of(1)
    book = ClassroomYear(year_of_weeks(weeks), plan_of(school, school["classrooms"][0]))
    assert len(book.shape.days) == weeks * 5
    assert len(book.pieces) == 5


def test_a_date_with_a_change_of_its_own_is_one_sort_more() -> None:
    school = school_of(1)
    school["day_changes"] = [{"date": "2026-09-16", "name": "Assembly", "from": "09:00", "to": "09:30"}]
    year = year_of(school)
    plain = ClassroomYear(year, plan_of(school | {"day_changes": []}, school["classrooms"][0]))
    changed = ClassroomYear(year, plan_of(school, school["classrooms"][0]))
    assert len(changed.pieces) == len(plain.pieces) + 1


def test_windows_that_hold_like_days_are_measured_once() -> None:
    school = school_of(1)
    book = ClassroomYear(year_of_weeks(36), plan_of(school, school["classrooms"][0]))
    rolling = next(
        (rule, part) for rule in rules_of(school) for part in rule.parts if part.window.rolling and part.mean
    )
    measured = book.measured(*rolling)
    assert sum(len(like.stretches) for _, like in measured) == 36 * 5 - 9
    assert len(measured) == 1


def test_classrooms_whose_years_have_one_shape_share_its_windows() -> None:
    school = school_of(3)
    year = year_of(school)
    books = [ClassroomYear(year, plan_of(school, room)) for room in school["classrooms"]]
    assert books[0].shape is books[1].shape is books[2].shape
    assert readings(year, books[0].plan, rules_of(school)) != readings(year, books[1].plan, rules_of(school))
