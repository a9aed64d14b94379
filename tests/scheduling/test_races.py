"""Two at once, on two connections: nothing is lost, nothing overwritten unseen, no reading half-true."""

import datetime as dt
import threading
from collections.abc import Callable, Iterator
from functools import partial

import pytest
from django.db import connection, transaction

from scheduling.access import block_for_editing
from scheduling.models import Block, Week, WeekChange
from scheduling.services import calendar, weeks
from scheduling.services.block_writing import placing_of
from scheduling.services.compliance import recompute
from teamroom.common.errors import RuleBroken, Stale
from teamroom.members.models import Member
from tests import factories as make

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


def at_once(*deeds: Callable[[], object]) -> list[BaseException]:
    """Do them in threads that start together; what they raised, if anything."""
    gate = threading.Barrier(len(deeds))
    raised: list[BaseException] = []

    def do(deed: Callable[[], object]) -> None:
        try:
            gate.wait(timeout=20)
            deed()
        except RuleBroken as refused:
            raised.append(refused)
        finally:
            connection.close()

    threads = [threading.Thread(target=do, args=[deed]) for deed in deeds]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert not any(thread.is_alive() for thread in threads)
    return raised


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
