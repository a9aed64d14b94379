"""A year begun by hand has what a year cannot do without, and only dates a year can have."""

import datetime as dt

import pytest

from teamroom.common.errors import RuleBroken
from teamroom.dates.models import School
from teamroom.dates.services import begin_school_year

FIRST, LAST = dt.date(2026, 8, 24), dt.date(2027, 6, 4)


@pytest.fixture
def school(db: None) -> School:
    return School.objects.create(name="Fernhollow Elementary", time_zone="America/Chicago")


def test_a_year_begun_has_the_regular_kind_and_is_being_set_up(school: School) -> None:
    year = begin_school_year(school, name=" 2026-27 ", first_day=FIRST, last_day=LAST)
    assert [(kind.key, kind.is_regular) for kind in year.day_kinds.all()] == [("regular", True)]
    assert year.being_set_up
    assert year.name == "2026-27"


@pytest.mark.parametrize(
    ("name", "last", "field"),
    [
        ("  ", LAST, "year_name"),
        ("2026-27", dt.date(2026, 8, 23), "last_day"),
        ("2026-27", dt.date(2226, 8, 23), "last_day"),
    ],
)
def test_a_year_without_a_name_or_with_dates_of_no_year_is_refused(
    school: School, name: str, last: dt.date, field: str
) -> None:
    with pytest.raises(RuleBroken) as refused:
        begin_school_year(school, name=name, first_day=FIRST, last_day=last)
    assert refused.value.field == field


def test_a_second_year_of_a_name_is_refused_and_the_first_kept(school: School) -> None:
    begin_school_year(school, name="2026-27", first_day=FIRST, last_day=LAST)
    with pytest.raises(RuleBroken, match="already"):
        begin_school_year(school, name="2026-27", first_day=FIRST, last_day=LAST)
    assert school.years.count() == 1
