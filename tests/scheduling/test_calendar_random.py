"""Random schools and random deeds of their calendar: what was previewed is what is done, and undo undoes it."""

import datetime as dt
from random import Random

import pytest
from django.db import transaction

from scheduling.models import Activity, CalendarWork, DayChange, Reading
from scheduling.selectors.ledger import Row
from scheduling.services import calendar_work
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
)
from scheduling.services.prepared import prepare
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Member
from teamroom.school_file.loading import load
from tests import factories as make
from tests.minutes.naive.schools import random_school

pytestmark = pytest.mark.django_db
DEEDS = 14
Place = tuple[int, int, str, int | None]


class Principal:
    """Somebody who asks for anything on any date."""

    def __init__(self, year: SchoolYear, dice: Random) -> None:
        self.year, self.dice = year, dice

    def day(self) -> dt.date:
        return self.year.first_day + dt.timedelta(self.dice.randrange((self.year.last_day - self.year.first_day).days))

    def span(self) -> tuple[dt.date, dt.date]:
        first = self.day()
        return first, min(first + dt.timedelta(self.dice.choice([0, 0, 1, 4, 10])), self.year.last_day)

    def plan(self) -> Plan:
        dice, start = self.dice, self.dice.randrange(450, 900, 5)
        rooms = tuple(pk for pk in self.year.classrooms.values_list("pk", flat=True) if dice.random() < 0.5)
        if dice.random() < 0.3:
            return Plan(self.day(), "Flood", True, 0, 1440, classrooms=rooms)
        activity = dice.choice(list(Activity.objects.filter(year=self.year).values_list("pk", flat=True)))
        return Plan(self.day(), "Trip", False, start, start + 60, credits=((activity, 20),), classrooms=rooms)

    def deed(self) -> Deed:
        dice = self.dice
        changes = list(DayChange.objects.order_by("pk"))
        closures = list(self.year.closures.order_by("pk"))
        if changes and dice.random() < 0.25:
            change = dice.choice(changes)
            return MoveChange(change.pk, self.plan()) if dice.random() < 0.6 else LiftChange(change.pk, Plan.of(change))
        if closures and dice.random() < 0.4:
            closure = dice.choice(closures)
            if dice.random() < 0.5:
                return ChangeClosure(closure.first_day, *self.span(), "Break")
            return Reopen(
                closure.first_day, min(closure.first_day + dt.timedelta(dice.choice([0, 1])), closure.last_day)
            )
        if dice.random() < 0.4:
            kinds = [*self.year.day_kinds.values_list("key", flat=True), ""]
            return SetKind(self.day(), dice.choice(kinds), "a kind")
        return Close(*self.span(), "Storm") if dice.random() < 0.6 else PlaceChange(self.plan())


def readings() -> dict[Place, Row]:
    return {
        (row.classroom_id, row.rule_id, row.grade, row.part): Row(*(getattr(row, name) for name in Row._fields))
        for row in Reading.objects.all()
    }


def calendar_rows(year: SchoolYear) -> list[object]:
    changes = DayChange.objects.filter(year=year).order_by("date", "start", "name", "pk")
    return [
        list(year.closures.order_by("first_day").values_list("first_day", "last_day", "name")),
        list(year.calendar_days.order_by("date").values_list("date", "kind__key")),
        sorted(repr(Plan.of(change)) for change in changes),
    ]


def as_previewed(year: SchoolYear, deed: Deed, before: dict[Place, Row]) -> dict[Place, Row]:
    """The readings as the preview says they will be."""
    after = dict(before)
    for change in prepare(year, lambda: deed.do(year)).preview.changes:
        place = (change.room, change.row.rule_id, change.row.grade, change.row.part)
        after.pop(place, None)
        if change.after is not None:
            after[place] = change.after
    return after


def agree(year: SchoolYear) -> bool:
    with transaction.atomic():
        return not recompute(SchoolYear.objects.get(pk=year.pk), from_scratch=True).pairs


def done(year: SchoolYear, deed: Deed, member: Member) -> CalendarWork | None:
    """The deed previewed and done; None if it was refused, and then nothing was."""
    before = calendar_rows(year), readings()
    try:
        preview = calendar_work.try_out(year, deed, member)
    except RuleBroken:
        assert (calendar_rows(year), readings()) == before
        return None
    assert (calendar_rows(year), readings()) == before
    expected = as_previewed(year, deed, before[1])
    work = calendar_work.say_yes(preview, member)
    assert readings() == expected
    return work


@pytest.mark.parametrize("seed", range(10))
def test_what_is_previewed_is_what_is_done_and_undo_undoes_it(seed: int) -> None:
    dice = Random(seed)  # noqa: S311 - chance for tests, nothing to guard
    year = load(random_school(dice)).year
    member = make.make_coordinator(year.school, role="administrator")
    principal = Principal(year, dice)
    count = 0
    for _ in range(DEEDS):
        before = calendar_rows(year), readings()
        work = done(year, principal.deed(), member)
        if work is None:
            continue
        count += 1
        if dice.random() < 0.5:
            assert work.outcome is not None
            assert deed_from(work.outcome["undo"]).title
            calendar_work.take_back(work, member)
            assert (calendar_rows(year), readings()) == before
    assert count > DEEDS / 4
    assert agree(year)
