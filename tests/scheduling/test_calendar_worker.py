"""Workers that are really killed, and people who say yes at the same moment."""

import datetime as dt
import os
import signal
import time
from functools import partial

import pytest
from django.db import connection, transaction
from django.utils import timezone

from scheduling.access import block_for_editing
from scheduling.models import Block, CalendarWork, Reading
from scheduling.services import calendar, calendar_work, queue, weeks
from scheduling.services.block_writing import placing_of
from scheduling.services.compliance import recompute
from scheduling.services.deeds import Close
from scheduling.tasks import do_calendar_work
from teamroom.common.errors import Stale
from teamroom.dates.models import Closure, SchoolYear
from teamroom.members.models import Member
from tests import factories as make
from tests.a_worker import a_worker
from tests.at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)
MONDAY = dt.date(2026, 9, 14)
PATIENCE = 30.0
WAITING = "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'"


@pytest.fixture
def year() -> SchoolYear:
    year = make.make_year()
    for key in ("room1", "room2"):
        week = make.make_week(make.make_classroom(year, key))
        teacher = make.make_teacher(week.classroom, f"T{key}")
        make.add(week, teacher, *[(day, "09:00", "10:00", "math") for day in ("mon", "wed", "fri")])
    make.make_rule(year, "math_week", {"pool": {"of": ["math"]}, "at_least": 180})
    return SchoolYear.objects.get(pk=year.pk)


@pytest.fixture
def principal(year: SchoolYear) -> Member:
    return make.make_coordinator(year.school, "Ada", "administrator")


def agree(year: SchoolYear) -> bool:
    with transaction.atomic():
        return not recompute(SchoolYear.objects.get(pk=year.pk), from_scratch=True).pairs


def rows() -> list[object]:
    return [list(model.objects.order_by("pk").values()) for model in (Closure, Reading)]


def somebody_waits() -> bool:
    """Whether another session waits for what this one holds."""
    give_up = time.monotonic() + PATIENCE
    with connection.cursor() as cursor:
        while time.monotonic() < give_up:
            # Inside a transaction the activity is read once and then remembered.
            cursor.execute("SELECT pg_stat_clear_snapshot()")
            cursor.execute(WAITING)
            if cursor.fetchone() != (0,):
                return True
            time.sleep(0.02)  # there is nothing to wait on but another process
    return False


@pytest.mark.parametrize("held", ["the year, before anything is done", "a reading, when all but it is written"])
def test_a_worker_killed_midway_leaves_nothing_half_written_and_the_next_does_it(
    year: SchoolYear, principal: Member, held: str
) -> None:
    calendar_work.ask_together([(year, Close(MONDAY, MONDAY, "Storm"))], principal, preview=False)
    before = rows()
    with a_worker("do_calendar_work") as worker, transaction.atomic():
        if held.startswith("a reading"):
            Reading.objects.select_for_update().latest("pk")
        else:
            SchoolYear.objects.select_for_update().get(pk=year.pk)
        assert somebody_waits()
        os.kill(worker.pid, signal.SIGKILL)
        worker.wait()
    assert rows() == before
    assert calendar_work.claim() is None
    work = CalendarWork.objects.get()
    assert (work.state, work.taken) == ("working", 1)
    CalendarWork.objects.update(heard_at=timezone.now() - 2 * queue.GIVEN_UP)
    do_calendar_work()
    work.refresh_from_db()
    assert (work.state, work.taken) == ("done", 2)
    assert year.closures.count() == 1
    assert agree(year)


def test_a_worker_lets_nobody_see_half_and_tells_how_far_it_is_meanwhile(year: SchoolYear, principal: Member) -> None:
    calendar_work.ask_together([(year, Close(MONDAY, MONDAY, "Storm"))], principal, preview=False)
    with a_worker("do_calendar_work") as worker:
        with transaction.atomic():
            Reading.objects.select_for_update().latest("pk")
            assert somebody_waits()
            work = CalendarWork.objects.get()
            assert (work.state, work.classrooms_done, work.classrooms) == ("working", 2, 2)
            assert not year.closures.exists()
        assert worker.wait(timeout=PATIENCE) == 0
    assert CalendarWork.objects.get().state == "done"
    assert agree(year)


def test_of_two_yeses_at_once_one_is_done_and_the_other_told(year: SchoolYear, principal: Member) -> None:
    for n in range(3):
        date = MONDAY + dt.timedelta(weeks=n)
        previews = [calendar_work.try_out(year, Close(date, date, name), principal) for name in ("Storm", "Snow")]
        refused = at_once(*(partial(calendar_work.say_yes, preview, principal) for preview in previews))
        assert [type(one) for one in refused] == [Stale]
        assert year.closures.filter(first_day=date).count() == 1
        assert agree(year)


def test_a_deed_that_somebody_else_did_first_is_told_as_changed_in_the_meantime(
    year: SchoolYear, principal: Member
) -> None:
    calendar_work.ask_together([(year, Close(MONDAY, MONDAY, "Storm"))], principal, preview=False)
    calendar.close_dates(year, MONDAY, MONDAY, "Snow")
    do_calendar_work()
    work = CalendarWork.objects.get()
    assert work.state == "refused"
    assert work.fault.startswith("The school year was changed in the meantime")


def test_a_yes_and_edits_at_once_leave_no_reading_of_half_of_both(year: SchoolYear, principal: Member) -> None:
    owner = year.classrooms.earliest("pk").teachers.get()
    block = Block.objects.earliest("pk")

    def lengthen() -> None:
        with transaction.atomic():
            found = block_for_editing(owner, block.pk)
            placing = placing_of(found, end=found.end + 5)
            weeks.change_block(found, member=owner, revision=found.revision, placing=placing)

    for n in range(4):
        date = MONDAY + dt.timedelta(weeks=n)
        preview = calendar_work.try_out(year, Close(date, date, "Storm"), principal)
        refused = at_once(partial(calendar_work.say_yes, preview, principal), lengthen)
        assert all(isinstance(one, Stale) for one in refused)
        assert year.closures.filter(first_day=date).count() == 1 - len(refused)
        assert agree(year)
