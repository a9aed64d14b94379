"""Published bell tables given to grades as the screens do it, and the figures their page then shows.

All sources were read as stored copies.
"""

import pytest

from scheduling.models import Reading
from scheduling.rule_library.library import jurisdiction
from scheduling.selectors.bells_page import BellLine, bells_page
from scheduling.services.activities import add_usual_activities
from scheduling.services.calendar import set_standing_kind
from scheduling.services.rule_adoption import adopt
from scheduling.services.school_times import BellTimes, Fixed, set_bell_schedule
from teamroom.dates.models import DayKind, SchoolYear
from tests import factories as make
from tests.outside.schools import at

pytestmark = pytest.mark.django_db

# Source: an elementary school's bell-schedule page, sfusd.edu: instruction 7:50, dismissal 2:05, on Wednesdays 12:50;
# recess and lunch by grade band.
RECESS = {
    "K": ("09:25", "09:40"),
    "1": ("09:25", "09:40"),
    **dict.fromkeys("23", ("09:45", "10:00")),
    **dict.fromkeys("45", ("10:05", "10:20")),
}
LUNCH = {"K": ("11:25", "12:05"), "1": ("11:25", "12:05"), **dict.fromkeys("2345", ("12:10", "12:50"))}


@pytest.fixture
def year() -> SchoolYear:
    """Without the bells and activities that tests else begin with."""
    year = make.make_year()
    year.bell_schedules.all().delete()
    year.activities.all().delete()
    add_usual_activities(year, ["english", "recess", "lunch"])
    return SchoolYear.objects.get(pk=year.pk)


def fixed(year: SchoolYear, key: str, span: tuple[str, str]) -> Fixed:
    return Fixed(year.activities.get(key=key), at(span[0]), at(span[1]))


def shown(year: SchoolYear) -> dict[tuple[str, int], BellLine]:
    page = bells_page(SchoolYear.objects.get(pk=year.pk))
    return {(line.grade, line.kind): line for line in page.lines}


def give_published_bells(year: SchoolYear, regular: DayKind, early: DayKind) -> None:
    """Grades with the same recess and lunch together, as the page prints them."""
    for grades in (("K", "1"), ("2", "3"), ("4", "5")):
        stretches = [fixed(year, "recess", RECESS[grades[0]]), fixed(year, "lunch", LUNCH[grades[0]])]
        for kind, dismissal in ((regular, "14:05"), (early, "12:50")):
            times = BellTimes(at("07:50"), at(dismissal), stretches)
            set_bell_schedule(year, [(grade, kind) for grade in grades], times)


def test_a_published_bell_schedule_leaves_the_minutes_that_the_arithmetic_leaves(year: SchoolYear) -> None:
    # The results are the arithmetic of the published times: 375 - 15 - 40 = 320, and 300 - 15 - 40 = 245.
    regular, early = year.day_kinds.order_by("pk")
    give_published_bells(year, regular, early)
    found = shown(year)
    assert set(found) == {(grade, kind.pk) for grade in RECESS for kind in (regular, early)}
    for grade in RECESS:
        assert (found[grade, regular.pk].length, found[grade, regular.pk].free) == (375, (320, 320))
        assert (found[grade, early.pk].length, found[grade, early.pk].free) == (300, (245, 245))


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
def test_a_day_is_as_long_as_published(year: SchoolYear, start: str, dismissal: str, minutes: int) -> None:
    regular = year.day_kinds.get(key="regular")
    set_bell_schedule(year, [("3", regular)], BellTimes(at(start), at(dismissal)))
    line = shown(year)["3", regular.pk]
    assert (line.length, line.free) == (minutes, (minutes, minutes))


def test_a_week_that_fills_the_published_bells_reads_what_their_page_says_is_left(year: SchoolYear) -> None:
    # Source: as above; the law asks for 240 minutes a day in grades 4 to 8 (Education Code 46113), 245 - 240 = 5.
    regular, early = year.day_kinds.order_by("pk")
    set_standing_kind(year, "wed", early)
    give_published_bells(year, regular, early)
    room = make.make_classroom(year, "room4", ("4",))
    gaps = [("07:50", RECESS["4"][0]), (RECESS["4"][1], LUNCH["4"][0]), (LUNCH["4"][1], "14:05")]
    days = ("mon", "tue", "wed", "thu", "fri")
    make.add(make.make_week(room), make.make_teacher(room), *((day, *gap, "english") for day in days for gap in gaps))
    adopt(year, place=jurisdiction("us-ca"), grades=["4"], only=["us-ca-minday-4-8"])
    line = shown(year)["4", early.pk]
    reading = Reading.objects.get(classroom=room, part=0)
    assert (reading.planned, reading.required, reading.margin) == (line.free[0], 240, 5)
