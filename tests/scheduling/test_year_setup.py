"""A year's dates, its kinds of day, and its cycle: what changes, what is refused, and that nothing is lost unsaid."""

import datetime as dt
from dataclasses import replace

import pytest
from django.db import transaction

from scheduling.models import Block, Column, DayChange, FixedStretch, Reading, Week
from scheduling.selectors.year_setup import cycle_strip, days_count, kind_lines
from scheduling.services import compliance
from scheduling.services.calendar import close_dates, set_day_kind
from scheduling.services.day_changes import Happening, place
from scheduling.services.day_kinds import (
    add_day_kind,
    remove_day_kind,
    rename_day_kind,
    set_cycle,
    set_standing_kinds,
)
from scheduling.services.year_setup import FallsOutside, YearFacts, set_year
from teamroom.common.errors import RuleBroken
from teamroom.dates.calendar_maths import Cycle
from teamroom.dates.models import Closure, SchoolYear
from teamroom.dates.selectors import school_days_of
from tests.factories import FIRST_DAY, LAST_DAY, add, make_classroom, make_rule, make_teacher, make_week, make_year

DAY = dt.timedelta(days=1)


@pytest.fixture
def year(db: None) -> SchoolYear:
    return make_year()


def facts(year: SchoolYear, **changed: object) -> YearFacts:
    now = YearFacts(year.school.name, year.school.time_zone, "", year.name, year.first_day, year.last_day)
    return replace(now, **changed)  # type: ignore[arg-type]  # fields by name


def differs_from_scratch(year: SchoolYear) -> bool:
    with transaction.atomic():
        return bool(compliance.recompute(SchoolYear.objects.get(pk=year.pk), from_scratch=True))


def verdicts(year: SchoolYear) -> list[str]:
    return list(Reading.objects.filter(rule__year=year, part=None).values_list("status", flat=True))


# Dates


def test_the_school_and_the_year_take_other_facts_together(year: SchoolYear) -> None:
    set_year(
        year,
        facts(
            year,
            school_name=" Fernhollow  School ",
            time_zone="America/Denver",
            place="US-CO",
            name="The year",
            required_days=40,
            required_days_source="District policy",
        ),
    )
    year = SchoolYear.objects.select_related("school").get()
    assert (year.school.name, year.school.time_zone, year.school.place) == (
        "Fernhollow School",
        "America/Denver",
        "US-CO",
    )
    assert (year.name, year.required_days, year.required_days_source) == ("The year", 40, "District policy")


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"school_name": " "}, "name"),
        ({"school_name": "another school"}, "name"),
        ({"time_zone": "America/Nowhere"}, "time_zone"),
        ({"place": "US-ZZ"}, "place"),
        ({"name": ""}, "year_name"),
        ({"name": "Next"}, "year_name"),
        ({"required_days": 0}, "required_days"),
        ({"required_days": 400}, "required_days"),
        ({"last_day": FIRST_DAY - DAY}, "last_day"),
        ({"last_day": dt.date(2126, 6, 1)}, "last_day"),
    ],
)
def test_facts_that_cannot_be_are_refused_at_their_field_and_nothing_is_written(
    year: SchoolYear, changed: dict[str, object], field: str
) -> None:
    make_year("Another school")
    SchoolYear.objects.create(school=year.school, name="Next", first_day=FIRST_DAY, last_day=LAST_DAY)
    with pytest.raises(RuleBroken) as refused:
        set_year(year, facts(year, **changed))
    assert refused.value.field == field
    assert SchoolYear.objects.get(pk=year.pk).last_day == LAST_DAY


def test_days_are_counted_by_month_and_set_against_what_is_required(year: SchoolYear) -> None:
    close_dates(year, dt.date(2026, 10, 12), dt.date(2026, 10, 12), "Fall day")
    count = days_count(year, FIRST_DAY, LAST_DAY, 40)
    assert count.months == (("September 2026", 18), ("October 2026", 21))
    assert (count.days, count.enough) == (39, False)
    assert count.said == "1 fewer than the 40 the school must hold"
    assert count.days == len(school_days_of(year))


def outside_year(year: SchoolYear) -> None:
    """A closure over the end, one after it, a date of another kind and a day change after it."""
    minimum = year.day_kinds.get(key="minimum")
    close_dates(year, dt.date(2026, 10, 15), dt.date(2026, 10, 20), "Over the end")
    close_dates(year, dt.date(2026, 10, 26), dt.date(2026, 10, 26), "After the end")
    set_day_kind(year, dt.date(2026, 10, 28), minimum)
    place(year, Happening(dt.date(2026, 10, 29), "Assembly", start=540, end=600))


def test_what_would_fall_outside_is_named_and_stays_until_somebody_says_yes(year: SchoolYear) -> None:
    outside_year(year)
    with pytest.raises(FallsOutside) as refused:
        set_year(year, facts(year, last_day=dt.date(2026, 10, 16)))
    assert list(refused.value.outside.lines) == [
        "Over the end, Thu 15 Oct 2026 to Tue 20 Oct 2026, is cut to the year.",
        "After the end, Mon 26 Oct 2026 to Mon 26 Oct 2026, goes.",
        "Wed 28 Oct 2026 is no Minimum day any more.",
        "Assembly on Thu 29 Oct 2026 goes.",
    ]
    assert refused.value.field == "last_day"
    assert (Closure.objects.count(), year.calendar_days.count(), DayChange.objects.count()) == (2, 1, 1)

    set_year(year, facts(year, last_day=dt.date(2026, 10, 16)), take_out=refused.value.outside.seal)
    closure = Closure.objects.get()
    assert (closure.name, closure.last_day) == ("Over the end", dt.date(2026, 10, 16))
    assert (year.calendar_days.count(), DayChange.objects.count()) == (0, 0)


def test_a_yes_to_other_things_than_those_that_fall_outside_now_is_none(year: SchoolYear) -> None:
    outside_year(year)
    with pytest.raises(FallsOutside) as refused:
        set_year(year, facts(year, last_day=dt.date(2026, 10, 28)))
    with pytest.raises(FallsOutside):
        set_year(year, facts(year, last_day=dt.date(2026, 10, 16)), take_out=refused.value.outside.seal)
    assert Closure.objects.count() == 2


def test_the_week_in_effect_on_a_new_first_day_begins_with_it_and_readings_follow(year: SchoolYear) -> None:
    classroom = make_classroom(year)
    add(make_week(classroom), make_teacher(classroom), ("mon", "08:00", "09:00", "math"))
    make_rule(year, "math_year", {"pool": {"of": ["math"]}, "at_least": 480, "window": "year"})
    assert verdicts(year) == ["met"]
    set_year(year, facts(year, first_day=dt.date(2026, 9, 14)))
    assert Week.objects.get().starts == dt.date(2026, 9, 14)
    assert verdicts(year) == ["short"]
    assert not differs_from_scratch(year)


def test_dates_that_would_leave_a_week_out_of_effect_are_refused_with_whose(year: SchoolYear) -> None:
    classroom = make_classroom(year)
    make_week(classroom)
    make_week(classroom, dt.date(2026, 10, 5))
    with pytest.raises(RuleBroken, match="Room12’s week from Mon 5 Oct 2026") as refused:
        set_year(year, facts(year, last_day=dt.date(2026, 10, 2)))
    assert refused.value.field == "last_day"
    with pytest.raises(RuleBroken, match="Room12’s week from Mon 7 Sep 2026") as refused:
        set_year(year, facts(year, first_day=dt.date(2026, 10, 6)))
    assert refused.value.field == "first_day"


def test_a_cycle_that_begins_outside_the_new_dates_refuses_them(year: SchoolYear) -> None:
    set_cycle(year, Cycle("rotating days", 6, dt.date(2026, 9, 8)))
    with pytest.raises(RuleBroken, match="The cycle begins on Tue 8 Sep 2026"):
        set_year(year, facts(year, first_day=dt.date(2026, 9, 14)))


# Kinds of day


def test_a_kind_of_day_is_added_renamed_and_taken_away(year: SchoolYear) -> None:
    kind = add_day_kind(year, "  Late  start ")
    assert (kind.name, kind.key) == ("Late start", "late-start")
    assert rename_day_kind(kind, "Late arrival").key == "late-start"
    remove_day_kind(kind)
    assert set(year.day_kinds.values_list("key", flat=True)) == {"regular", "minimum"}


@pytest.mark.parametrize("name", ["", "  ", "minimum DAY"])
def test_a_kind_of_day_needs_a_name_of_its_own(year: SchoolYear, name: str) -> None:
    with pytest.raises(RuleBroken) as refused:
        add_day_kind(year, name)
    assert refused.value.field == "name"


def test_a_kind_that_is_used_says_where_and_stays(year: SchoolYear) -> None:
    minimum = year.day_kinds.get(key="minimum")
    classroom = make_classroom(year)
    set_standing_kinds(year, {"wed": minimum})
    set_day_kind(year, dt.date(2026, 10, 9), minimum)
    make_rule(year, "math_short", {"pool": {"of": ["math"]}, "at_least": 20, "window": "day", "day_kinds": ["minimum"]})
    Column.objects.create(week=make_week(classroom), day="wed", kind=minimum)
    with pytest.raises(RuleBroken) as refused:
        remove_day_kind(minimum)
    for use in ("every Wednesday", "1 date", "grade 4", "Room12", "the rule Math short"):
        assert use in refused.value.message
    assert year.day_kinds.filter(pk=minimum.pk).exists()


def test_the_regular_kind_stays(year: SchoolYear) -> None:
    with pytest.raises(RuleBroken, match="regular day"):
        remove_day_kind(year.day_kinds.get(key="regular"))


def test_weekdays_get_their_kinds_all_at_once_and_readings_follow(year: SchoolYear) -> None:
    classroom = make_classroom(year)
    add(make_week(classroom), make_teacher(classroom), ("wed", "13:00", "14:00", "math"))
    make_rule(year, "math_week", {"pool": {"of": ["math"]}, "at_least": 60})
    minimum, regular = year.day_kinds.get(key="minimum"), year.day_kinds.get(key="regular")
    assert verdicts(year) == ["met"]
    set_standing_kinds(year, {"wed": minimum, "mon": regular})
    assert dict(year.standing_kinds.values_list("weekday", "kind__key")) == {"wed": "minimum"}
    assert verdicts(year) == ["short"]
    assert not differs_from_scratch(year)
    set_standing_kinds(year, {"wed": None})
    assert verdicts(year) == ["met"]
    assert not year.standing_kinds.exists()


def test_a_kind_of_another_year_is_refused(year: SchoolYear) -> None:
    other = make_year("Another school").day_kinds.get(key="minimum")
    with pytest.raises(RuleBroken):
        set_standing_kinds(year, {"wed": other})
    with pytest.raises(RuleBroken):
        set_standing_kinds(year, {"sat": None})


# The cycle


def test_the_first_weeks_of_a_cycle_are_shown_before_it_is_saved(year: SchoolYear) -> None:
    close_dates(year, dt.date(2026, 9, 8), dt.date(2026, 9, 8), "Fair day")
    weeks = cycle_strip(year, Cycle("rotating days", 4))
    assert [day.name for day in weeks[0]] == ["Day 1", "closed", "Day 2", "Day 3", "Day 4"]
    assert [day.name for day in weeks[1]] == ["Day 1", "Day 2", "Day 3", "Day 4", "Day 1"]
    by_week = cycle_strip(year, Cycle("alternating weeks", starts=dt.date(2026, 9, 14)))
    assert [week[2].name for week in by_week] == ["Week B", "Week A", "Week B"]
    assert len(weeks) == 3


def test_a_cycle_is_changed_while_nothing_is_planned_by_its_days(year: SchoolYear) -> None:
    set_cycle(year, Cycle("rotating days", 5, dt.date(2026, 9, 8)))
    year.refresh_from_db()
    assert (year.cycle_kind, year.cycle_length, year.cycle_starts) == ("rotating days", 5, dt.date(2026, 9, 8))
    with pytest.raises(RuleBroken) as refused:
        set_cycle(year, Cycle("rotating days", 5, LAST_DAY + DAY))
    assert refused.value.field == "starts"
    with pytest.raises(RuleBroken) as refused:
        set_cycle(year, Cycle("rotating days", 21))
    assert refused.value.field == "length"


def test_a_cycle_that_would_leave_planned_days_without_a_name_is_refused_with_the_classrooms(year: SchoolYear) -> None:
    classroom = make_classroom(year)
    add(make_week(classroom), make_teacher(classroom), ("mon", "08:00", "09:00", "math"))
    with pytest.raises(RuleBroken, match="planned in Room12") as refused:
        set_cycle(year, Cycle("rotating days", 6))
    assert refused.value.field == "kind"
    year.refresh_from_db()
    assert year.cycle_kind == "weekdays"


def test_a_cycle_that_would_leave_a_fixed_stretch_without_a_day_is_refused_with_the_grade(year: SchoolYear) -> None:
    bell = year.bell_schedules.get(kind__key="regular")
    FixedStretch.objects.create(
        bell_schedule=bell, activity=year.activities.get(key="lunch"), start=720, end=750, days=["mon"]
    )
    with pytest.raises(RuleBroken, match="grade 4"):
        set_cycle(year, Cycle("rotating days", 6))


def test_from_weekdays_to_a_and_b_weeks_each_planned_day_stands_in_both(year: SchoolYear) -> None:
    classroom = make_classroom(year)
    week = make_week(classroom)
    add(week, make_teacher(classroom), ("mon", "08:00", "09:00", "math"), ("tue", "08:00", "08:45", "science"))
    make_rule(year, "math_week", {"pool": {"of": ["math"]}, "at_least": 60})
    bell = year.bell_schedules.get(kind__key="regular")
    FixedStretch.objects.create(
        bell_schedule=bell, activity=year.activities.get(key="lunch"), start=720, end=750, days=["mon"]
    )
    before = Week.objects.get().revision
    set_cycle(year, Cycle("alternating weeks"))
    places = Block.objects.order_by("column__day").values_list("column__day", "activity__key", "start", "end")
    assert list(places) == [
        ("A-mon", "math", 480, 540),
        ("A-tue", "science", 480, 525),
        ("B-mon", "math", 480, 540),
        ("B-tue", "science", 480, 525),
    ]
    assert FixedStretch.objects.get().days == ["A-mon", "B-mon"]
    assert Week.objects.get().revision == before + 1
    assert verdicts(year) == ["met"]
    assert not differs_from_scratch(year)
    with pytest.raises(RuleBroken, match="planned in Room12"):
        set_cycle(year, Cycle("weekdays"))


def test_the_kinds_of_day_tell_where_they_are_used_and_on_how_many_days(year: SchoolYear) -> None:
    set_standing_kinds(year, {"wed": year.day_kinds.get(key="minimum")})
    lines = {line.name: line for line in kind_lines(year)}
    assert lines["Regular day"].days == 32
    assert lines["Minimum day"].days == 8
    assert lines["Minimum day"].uses == "every Wednesday; bell times of grade 4"
