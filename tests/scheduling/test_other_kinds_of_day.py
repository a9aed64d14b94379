"""Columns of other kinds of day come with their first block and go with their last."""

import pytest

from scheduling.access import block_for_editing, week_for_editing
from scheduling.models import Block, Column, Reading, Week
from scheduling.services import undoing, weeks
from scheduling.services.week_edits import Edit
from teamroom.dates.models import StandingKind
from teamroom.members.models import Member
from tests.factories import add, begin, make_classroom, make_rule, make_teacher, make_week, make_year, placing

pytestmark = pytest.mark.django_db


@pytest.fixture
def planned() -> tuple[Week, Member]:
    """Wednesdays are minimum days until 12:30; Wednesday's regular column has math at 9:00."""
    year = make_year()
    StandingKind.objects.create(year=year, weekday="wed", kind=year.day_kinds.get(key="minimum"))
    begin(year)
    year.refresh_from_db()
    classroom = make_classroom(year)
    teacher = make_teacher(classroom)
    week = make_week(classroom)
    add(week, teacher, ("wed", "09:00", "10:00", "math"))
    make_rule(year, "math_week", {"pool": {"of": ["math"]}, "at_least": 60})
    return Week.objects.get(pk=week.pk), teacher


def figures() -> list[tuple[object, ...]]:
    return list(Reading.objects.order_by("pk").values_list("rule", "part", "status", "planned", "short_windows"))


def add_to_minimum_days(week: Week, teacher: Member) -> Edit:
    found = week_for_editing(teacher, week.pk)
    where = placing(week.classroom.year, "", "08:00", "09:00", "art", kind="minimum")
    return weeks.add_block(found, member=teacher, placing=where)


def test_a_kinds_first_block_makes_its_column_and_undoing_it_takes_both_away(planned: tuple[Week, Member]) -> None:
    week, teacher = planned
    before = figures()
    add_to_minimum_days(week, teacher)
    assert figures() != before
    undoing.undo(week_for_editing(teacher, week.pk), member=teacher)
    assert figures() == before
    assert not Column.objects.filter(week=week, kind__key="minimum").exists()


def test_removing_a_kinds_last_block_gives_the_day_its_regular_column_again(planned: tuple[Week, Member]) -> None:
    week, teacher = planned
    before = figures()
    add_to_minimum_days(week, teacher)
    block = block_for_editing(teacher, Block.objects.get(activity__key="art").pk)
    weeks.remove_block(block, member=teacher, revision=block.revision)
    assert figures() == before
    undoing.undo(week_for_editing(teacher, week.pk), member=teacher)
    assert Column.objects.get(week=week, kind__key="minimum").blocks.count() == 1


def test_a_column_that_was_empty_on_purpose_outlives_an_undone_block(planned: tuple[Week, Member]) -> None:
    week, teacher = planned
    Column.objects.create(week=week, day="", kind=week.classroom.year.day_kinds.get(key="minimum"))
    add_to_minimum_days(week, teacher)
    undoing.undo(week_for_editing(teacher, week.pk), member=teacher)
    assert Column.objects.filter(week=week, kind__key="minimum").exists()
