"""A preview tells what applying would give, and writes nothing."""

import datetime as dt
from collections.abc import Callable
from functools import partial

import pytest
from django.db import connection

from scheduling.models import DayChange, Reading
from scheduling.models.day_changes import WHOLE_DAY
from scheduling.selectors.ledger import Row
from scheduling.selectors.preview_words import Preview, preview_told
from scheduling.services import calendar, day_changes
from scheduling.services.preview import previewed
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import CalendarDay, Closure, SchoolYear
from teamroom.members.models import Classroom
from tests import factories as make

pytestmark = pytest.mark.django_db
WEDNESDAY = dt.date(2026, 9, 16)
TABLES = (Closure, CalendarDay, DayChange, Reading, SchoolYear)


@pytest.fixture
def year() -> SchoolYear:
    """Two classrooms with an hour of math on three days; 180 a week are required, and 1,380 in the year."""
    year = make.make_year(required_days=40)
    for key in ("room1", "room2"):
        week = make.make_week(make.make_classroom(year, key))
        teacher = make.make_teacher(week.classroom, f"T{key}")
        make.add(week, teacher, *[(day, "09:00", "10:00", "math") for day in ("mon", "wed", "fri")])
    make.make_rule(year, "math_week", {"pool": {"of": ["math"]}, "at_least": 180}, name="Math in the week")
    make.make_rule(
        year, "math_year", {"pool": {"of": ["math"]}, "at_least": 1380, "window": "year"}, name="Math a year"
    )
    return SchoolYear.objects.get(pk=year.pk)


def everything() -> list[list[object]]:
    return [list(model.objects.order_by("pk").values()) for model in TABLES]


def close(year: SchoolYear, date: dt.date = WEDNESDAY) -> Callable[[], object]:
    return partial(calendar.close_dates, year, date, date, "Storm")


Rows = dict[tuple[int, int, str, int | None], Row]


def stored() -> Rows:
    return {
        (row.classroom_id, row.rule_id, row.grade, row.part): Row(*(getattr(row, name) for name in Row._fields))
        for row in Reading.objects.all()
    }


def seen(before: Rows, preview: Preview) -> Rows:
    """The readings as the preview says they will be."""
    after = dict(before)
    for change in preview.changes:
        key = (change.room, change.row.rule_id, change.row.grade, change.row.part)
        after.pop(key, None)
        if change.after is not None:
            after[key] = change.after
    return after


def test_a_preview_writes_nothing(year: SchoolYear) -> None:
    before = everything()
    assert previewed(year, close(year)).changes
    assert everything() == before
    assert not connection.needs_rollback


def test_a_preview_is_what_applying_then_gives(year: SchoolYear) -> None:
    minimum = year.day_kinds.get(key="minimum")
    room = Classroom.objects.filter(year=year).earliest("pk")
    assembly = day_changes.Happening(WEDNESDAY, "Assembly", start=540, end=570, classrooms=(room,))
    shut = day_changes.Happening(WEDNESDAY + dt.timedelta(7), "Burst pipe", closed=True, start=WHOLE_DAY[0])
    deeds: list[Callable[[], object]] = [
        partial(day_changes.place, year, assembly),
        close(year, WEDNESDAY + dt.timedelta(2)),
        partial(calendar.set_day_kind, year, WEDNESDAY + dt.timedelta(1), minimum),
        partial(day_changes.place, year, shut),
        partial(calendar.set_standing_kind, year, "mon", minimum),
    ]
    for deed in deeds:
        before = stored()
        preview = previewed(year, deed)
        deed()
        assert seen(before, preview) == stored()
        assert preview.days_after == previewed(year, lambda: None).days_before


def test_a_preview_tells_which_rules_fall_short_and_where(year: SchoolYear) -> None:
    told = preview_told(previewed(year, close(year)), year)
    assert told.sentences == ("The minutes of all 2 classrooms change.", "In 2 classrooms a rule falls short.")
    assert (told.days.before, told.days.after) == (40, 39)
    assert told.days.said == "1 fewer than the 40 the school must hold"
    assert [(rule.name, rule.falls, rule.worst) for rule in told.rules] == [
        ("Math in the week", 2, "24 minutes in Room1"),
    ]
    assert [(room.name, room.said) for room in told.rooms] == [
        ("Room1", "1 rule falls short, 1 rule reads otherwise"),
        ("Room2", "1 rule falls short, 1 rule reads otherwise"),
    ]
    assert [line.said for line in told.rooms[0].lines] == [
        "short by 24 minutes, week of 14 Sep (1 of 8 weeks short); was met, nothing to spare",
        "met, nothing to spare; was met with 60 minutes to spare",
    ]


def test_what_the_deed_refuses_the_preview_refuses(year: SchoolYear) -> None:
    with pytest.raises(RuleBroken, match="Choose a date"):
        previewed(year, close(year, dt.date(2027, 1, 1)))


def test_a_seal_is_of_the_outcome(year: SchoolYear) -> None:
    one, same, other = (previewed(year, close(year, WEDNESDAY + dt.timedelta(n))) for n in (0, 0, 1))
    assert one.seal == same.seal != other.seal
