"""Two at once, on two connections: nothing is lost, nothing overwritten unseen, no reading half-true."""

import datetime as dt
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import partial

import pytest
from django.db import transaction
from django.http import Http404

from scheduling.access import block_for_editing
from scheduling.models import Block, Week, WeekChange
from scheduling.services import calendar, weeks
from scheduling.services.block_writing import placing_of
from scheduling.services.compliance import recompute
from teamroom.common.errors import Stale
from teamroom.members.models import Member
from teamroom.school_file.dumping import document_of
from teamroom.school_file.loading import load
from tests import factories as make
from tests.at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)
ROUNDS = 5
MATH = {"pool": {"of": ["math"]}, "at_least": 300, "window": "week"}


@pytest.fixture
def week() -> Week:
    year = make.make_year()
    week = make.make_week(make.make_classroom(year))
    owner = make.make_teacher(week.classroom)
    make.add(week, owner, *[(day, "09:00", "10:00", "math") for day in ("mon", "tue", "wed")])
    make.make_rule(year, "math", MATH)
    return week


def owner_of(week: Week) -> Member:
    return week.classroom.teachers.get()


def lengthen(owner: Member, pk: int, revision: int, by: int) -> Callable[[], None]:
    def deed() -> None:
        with transaction.atomic():
            block = block_for_editing(owner, pk)
            placing = placing_of(block, end=block.end + by)
            weeks.change_block(block, member=owner, revision=revision, placing=placing)

    return deed


def agree(week: Week) -> bool:
    with transaction.atomic():
        return not recompute(make.begin(week.classroom.year), from_scratch=True).pairs


def blocks() -> Iterator[Block]:
    return iter(Block.objects.order_by("pk"))


def test_two_who_change_different_blocks_both_succeed(week: Week) -> None:
    owner = owner_of(week)
    for _ in range(ROUNDS):
        monday, tuesday, _ = blocks()
        raised = at_once(
            lengthen(owner, monday.pk, monday.revision, 5), lengthen(owner, tuesday.pk, tuesday.revision, 5)
        )
        assert raised == []
    assert [block.end for block in blocks()] == [600 + 5 * ROUNDS, 600 + 5 * ROUNDS, 600]
    assert WeekChange.objects.filter(deed="change").count() == 2 * ROUNDS
    assert agree(week)


def test_of_two_who_change_the_same_block_the_second_is_told(week: Week) -> None:
    owner = owner_of(week)
    for n in range(ROUNDS):
        monday = next(blocks())
        raised = at_once(*[lengthen(owner, monday.pk, monday.revision, 5) for _ in range(2)])
        assert [type(refused) for refused in raised] == [Stale]
        assert next(blocks()).end == 600 + 5 * (n + 1)
    assert agree(week)


def test_an_edit_and_a_change_of_the_calendar_leave_no_reading_of_half_of_both(week: Week) -> None:
    owner = owner_of(week)
    for n in range(ROUNDS):
        monday = next(blocks())
        closed = dt.date(2026, 9, 8) + dt.timedelta(weeks=n)
        raised = at_once(
            lengthen(owner, monday.pk, monday.revision, 5),
            partial(calendar.close_dates, week.classroom.year, closed, closed, "Storm"),
        )
        assert raised == []
        assert agree(week)


def test_edits_and_a_loading_of_the_same_year_wait_for_each_other_in_one_order(week: Week) -> None:
    """Locked in two orders they would wait for each other, and the database would end one of them."""
    owner = owner_of(week)
    document = document_of(week.classroom.year)

    def edits() -> None:
        for _ in range(4):
            with transaction.atomic():
                block = block_for_editing(owner, Block.objects.order_by("pk")[0].pk)
                placing = placing_of(block, end=block.end + 5)
                weeks.change_block(block, member=owner, revision=block.revision, placing=placing)

    def edits_until_replaced() -> None:
        # A loading replaces the blocks, so whoever edits one may find it gone.
        with suppress(Http404, IndexError):
            edits()

    for _ in range(ROUNDS):
        assert at_once(edits_until_replaced, edits_until_replaced, partial(load, document)) == []
    assert agree(Week.objects.get())
