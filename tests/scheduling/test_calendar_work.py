"""Deeds of the calendar: previewed, done exactly so, taken back; the rows of big ones survive their workers."""

import datetime as dt
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone

from scheduling.models import CalendarWork, DayChange, Reading
from scheduling.services import calendar, calendar_work, day_changes, prepared, queue
from scheduling.services.compliance import recompute
from scheduling.services.deeds import (
    ChangeClosure,
    Close,
    Deed,
    LiftChange,
    MoveChange,
    PlaceChange,
    Plan,
    Reopen,
    SetKind,
    deed_from,
    deed_written,
)
from scheduling.tasks import clear_calendar_previews, do_calendar_work
from teamroom.common.errors import RuleBroken, Stale
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Member
from tests import factories as make

pytestmark = pytest.mark.django_db
MONDAY = dt.date(2026, 9, 14)
DAY = dt.timedelta(days=1)


@pytest.fixture
def year() -> SchoolYear:
    """Three classrooms with two hours of math a day on three days, and rules they just meet."""
    year = make.make_year()
    for key in ("room1", "room2", "room3"):
        week = make.make_week(make.make_classroom(year, key))
        teacher = make.make_teacher(week.classroom, f"T{key}")
        make.add(week, teacher, *[(day, "09:00", "10:00", "math") for day in ("mon", "wed", "fri")])
    make.make_rule(year, "math_week", {"pool": {"of": ["math"]}, "at_least": 180})
    make.make_rule(year, "math_day", {"pool": {"of": ["math"]}, "recommended": 60, "window": "day"})
    return SchoolYear.objects.get(pk=year.pk)


@pytest.fixture
def principal(year: SchoolYear) -> Member:
    return make.make_coordinator(year.school, "Ada", "administrator")


def readings() -> list[object]:
    places = ("classroom_id", "rule_id", "grade", "part")
    return list(
        Reading.objects.order_by(*places).values(*places, "status", "planned", "margin", "first", "fingerprint")
    )


def agree(year: SchoolYear) -> bool:
    """Whether a recomputation that trusts nothing would change no reading; the year is left as it is."""
    with transaction.atomic():
        pairs = recompute(SchoolYear.objects.get(pk=year.pk), from_scratch=True).pairs
        transaction.set_rollback(True)
    return not pairs


def calendar_rows(year: SchoolYear) -> tuple[object, ...]:
    changes = DayChange.objects.filter(year=year).order_by("name")
    return (
        list(year.closures.order_by("first_day").values_list("first_day", "last_day", "name")),
        list(year.calendar_days.order_by("date").values_list("date", "kind__key")),
        [Plan.of(change) for change in changes],
    )


def assembly(year: SchoolYear, date: dt.date = MONDAY, name: str = "Assembly") -> Plan:
    math = year.activities.get(key="math").pk
    room = year.classrooms.earliest("pk").pk
    return Plan(date, name, False, 540, 570, credits=((math, 10),), classrooms=(room,))


def deeds(year: SchoolYear) -> list[Deed]:
    """One of each verb, on a calendar that has something of everything."""
    change, _ = day_changes.place(year, assembly(year, MONDAY + 3 * DAY, "Fire drill").happening(year))
    calendar.close_dates(year, MONDAY + 7 * DAY, MONDAY + 11 * DAY, "Fall break")
    calendar.set_day_kind(year, MONDAY + DAY, year.day_kinds.get(key="minimum"))
    return [
        Close(MONDAY, MONDAY + 2 * DAY, "Storm"),
        Reopen(MONDAY + 9 * DAY, MONDAY + 9 * DAY),
        ChangeClosure(MONDAY + 8 * DAY, MONDAY, MONDAY + 8 * DAY, "Long break"),
        SetKind(MONDAY + 2 * DAY, "minimum", "Minimum day"),
        SetKind(MONDAY + DAY, "", ""),
        PlaceChange(assembly(year)),
        MoveChange(change.pk, assembly(year, MONDAY + 2 * DAY, "Fire drill")),
        LiftChange(change.pk, Plan.of(change)),
    ]


def told(work: CalendarWork) -> dict[str, Any]:
    assert work.state == "done" and work.outcome is not None
    found: dict[str, Any] = work.outcome["told"]
    return found


def test_every_deed_is_written_down_done_as_previewed_and_taken_back(year: SchoolYear, principal: Member) -> None:
    for deed in deeds(year):
        assert deed_from(deed_written(deed)) == deed
        before, rows = calendar_rows(year), readings()
        preview = calendar_work.try_out(year, deed, principal)
        assert (calendar_rows(year), readings()) == (before, rows)
        done = calendar_work.say_yes(preview, principal)
        assert told(done) == told(preview)
        assert done.outcome is not None and done.outcome["as_previewed"]
        assert calendar_rows(year) != before
        assert agree(year)
        back = calendar_work.take_back(done, principal)
        assert calendar_rows(year) == before
        assert readings() == rows
        assert back.outcome is not None and "undo" in back.outcome


def test_a_day_reopened_inside_a_longer_closure_splits_it(year: SchoolYear) -> None:
    calendar.close_dates(year, MONDAY, MONDAY + 4 * DAY, "Fall break")
    calendar.reopen_dates(year, MONDAY + 2 * DAY, MONDAY + 2 * DAY)
    assert calendar_rows(year)[0] == [
        (MONDAY, MONDAY + DAY, "Fall break"),
        (MONDAY + 3 * DAY, MONDAY + 4 * DAY, "Fall break"),
    ]
    with pytest.raises(RuleBroken, match="nothing to reopen"):
        calendar.reopen_dates(year, MONDAY + 2 * DAY, MONDAY + 2 * DAY)


def test_closing_takes_a_kind_of_its_own_away_and_undo_brings_it_back(year: SchoolYear, principal: Member) -> None:
    calendar.set_day_kind(year, MONDAY, year.day_kinds.get(key="minimum"))
    before = calendar_rows(year)
    done = calendar_work.say_yes(calendar_work.try_out(year, Close(MONDAY, MONDAY, "Storm"), principal), principal)
    assert calendar_rows(year)[1] == []
    calendar_work.take_back(done, principal)
    assert calendar_rows(year) == before


def test_a_yes_to_what_has_changed_is_refused_and_changes_nothing(year: SchoolYear, principal: Member) -> None:
    preview = calendar_work.try_out(year, Close(MONDAY, MONDAY, "Storm"), principal)
    calendar.close_dates(year, MONDAY + 7 * DAY, MONDAY + 7 * DAY, "Holiday")
    before = calendar_rows(year), readings(), CalendarWork.objects.count()
    with pytest.raises(Stale):
        calendar_work.say_yes(preview, principal)
    assert (calendar_rows(year), readings(), CalendarWork.objects.count()) == before


def test_a_week_edited_after_the_preview_asks_for_another_look(year: SchoolYear, principal: Member) -> None:
    preview = calendar_work.try_out(year, Close(MONDAY, MONDAY, "Storm"), principal)
    room = year.classrooms.earliest("pk")
    make.add(room.weeks.get(), room.teachers.get(), ("tue", "10:00", "10:30", "math"))
    with pytest.raises(Stale):
        calendar_work.say_yes(preview, principal)


def test_a_deed_that_is_refused_leaves_no_row(year: SchoolYear, principal: Member) -> None:
    with pytest.raises(RuleBroken, match="Choose a date"):
        calendar_work.try_out(year, Close(MONDAY, dt.date(2027, 1, 1), "Storm"), principal)
    assert not CalendarWork.objects.exists()


def test_nothing_but_a_deed_that_was_done_is_taken_back(year: SchoolYear, principal: Member) -> None:
    preview = calendar_work.try_out(year, Close(MONDAY, MONDAY, "Storm"), principal)
    with pytest.raises(RuleBroken):
        calendar_work.take_back(preview, principal)
    done = calendar_work.say_yes(preview, principal)
    with pytest.raises(RuleBroken):
        calendar_work.say_yes(done, principal)


@pytest.fixture
def big(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three classrooms are too many for one answer."""
    monkeypatch.setattr(calendar_work, "MOST_AT_ONCE", 2)


@pytest.mark.usefixtures("big")
def test_a_big_school_waits_for_the_background_work(year: SchoolYear, principal: Member) -> None:
    preview = calendar_work.try_out(year, Close(MONDAY, MONDAY, "Storm"), principal)
    assert (preview.state, preview.classrooms) == ("waiting", 3)
    do_calendar_work()
    preview.refresh_from_db()
    assert told(preview)["falls"] == 3
    done = calendar_work.say_yes(preview, principal)
    assert done.state == "waiting" and not year.closures.exists()
    do_calendar_work()
    done.refresh_from_db()
    assert told(done) == told(preview)
    assert (done.classrooms_done, done.classrooms) == (3, 3)
    assert year.closures.exists() and agree(year)
    do_calendar_work()
    assert year.closures.count() == 1


@pytest.mark.usefixtures("big")
def test_what_a_big_deed_is_refused_for_is_said_at_once_or_else_in_its_row(year: SchoolYear, principal: Member) -> None:
    with pytest.raises(RuleBroken, match="Choose a date"):
        calendar_work.try_out(year, Close(MONDAY, dt.date(2027, 1, 1), "Storm"), principal)
    preview = calendar_work.try_out(year, Close(MONDAY, MONDAY, "Storm"), principal)
    do_calendar_work()
    preview.refresh_from_db()
    done = calendar_work.say_yes(preview, principal)
    calendar.close_dates(year, MONDAY + 7 * DAY, MONDAY + 7 * DAY, "Holiday")
    do_calendar_work()
    done.refresh_from_db()
    assert (done.state, done.outcome) == ("refused", None)
    assert "changed in the meantime" in done.fault
    assert year.closures.count() == 1


@pytest.mark.usefixtures("big")
def test_in_a_big_school_an_edit_meanwhile_is_kept_and_said(year: SchoolYear, principal: Member) -> None:
    preview = calendar_work.try_out(year, Close(MONDAY, MONDAY, "Storm"), principal)
    do_calendar_work()
    preview.refresh_from_db()
    done = calendar_work.say_yes(preview, principal)
    room = year.classrooms.earliest("pk")
    make.add(room.weeks.get(), room.teachers.get(), ("tue", "10:00", "10:30", "math"))
    do_calendar_work()
    done.refresh_from_db()
    assert done.outcome is not None and not done.outcome["as_previewed"]
    assert agree(year)


def test_an_edit_between_working_out_and_writing_is_worked_out_anew(year: SchoolYear) -> None:
    deed = Close(MONDAY, MONDAY, "Storm")
    ready = prepared.prepare(year, lambda: deed.do(year))
    room = year.classrooms.earliest("pk")
    make.add(room.weeks.get(), room.teachers.get(), ("tue", "10:00", "10:30", "math"))
    assert prepared.carry_out(ready, deed.do)[1] == 1
    assert agree(year)


def test_a_row_whose_worker_is_not_heard_from_is_taken_up_again_but_not_for_ever(
    year: SchoolYear, principal: Member
) -> None:
    calendar_work.ask_together([(year, Close(MONDAY, MONDAY, "Storm"))], principal, preview=False)
    for takings in (1, 2, 3):
        lost = calendar_work.claim()
        assert lost is not None and lost.taken == takings
        assert calendar_work.claim() is None
        CalendarWork.objects.update(heard_at=timezone.now() - queue.GIVEN_UP - DAY)
    assert calendar_work.claim() is None
    row = CalendarWork.objects.get()
    assert row.state == "refused" and "broke off" in row.fault


def test_a_worker_taken_for_dead_changes_nothing_when_it_comes_back(year: SchoolYear, principal: Member) -> None:
    calendar_work.ask_together([(year, Close(MONDAY, MONDAY, "Storm"))], principal, preview=False)
    slow = calendar_work.claim()
    assert slow is not None
    CalendarWork.objects.update(heard_at=timezone.now() - 2 * queue.GIVEN_UP)
    do_calendar_work()
    assert year.closures.count() == 1
    before = readings()
    with pytest.raises(queue.TakenOver):
        calendar_work.do(slow)
    assert (year.closures.count(), readings()) == (1, before)
    assert CalendarWork.objects.get().state == "done"


def test_old_previews_go_and_deeds_stay(year: SchoolYear, principal: Member) -> None:
    preview = calendar_work.try_out(year, Close(MONDAY, MONDAY, "Storm"), principal)
    done = calendar_work.say_yes(preview, principal)
    CalendarWork.objects.update(asked_at=timezone.now() - 2 * DAY)
    clear_calendar_previews()
    assert [work.pk for work in CalendarWork.objects.all()] == [done.pk]
