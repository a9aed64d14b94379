"""Whatever is done to a school, in whatever order, its readings are those of a count from nothing."""

import datetime as dt
from collections.abc import Callable
from random import Random

import pytest
from django.db import transaction

from scheduling.access import block_for_editing, week_for_editing
from scheduling.models import Activity, Block, DayChange, Rule, Week
from scheduling.services import calendar, day_changes, rules, undoing, week_versions, weeks
from scheduling.services.block_writing import Placing
from scheduling.services.compliance import recompute
from scheduling.services.day_changes import Happening
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import SchoolYear
from teamroom.dates.selectors import cycle_of
from teamroom.members.models import Member
from teamroom.school_file.loading import load
from tests import factories as make
from tests.minutes.naive.schools import random_school

pytestmark = pytest.mark.django_db
EDITS = 25


def five(dice: Random, low: int = 450, high: int = 900) -> int:
    return dice.randrange(low, high, 5)


class Somebody:
    """A member who does things to a school at random; what is refused was never done."""

    def __init__(self, year: SchoolYear, member: Member, dice: Random) -> None:
        self.year, self.member, self.dice = year, member, dice
        self.done: list[str] = []

    def act(self) -> None:
        deed: Callable[[], object] = self.dice.choice(
            [self.add, self.add, self.move, self.move, self.split, self.remove, self.undo]
            + [self.change_day, self.lift, self.name_day, self.close, self.ease_rule, self.start_week]
        )
        try:
            with transaction.atomic():
                deed()
        except RuleBroken:
            return
        self.done.append(deed.__name__)

    def week(self) -> Week:
        pk = self.dice.choice(list(Week.objects.order_by("pk").values_list("pk", flat=True)))
        return week_for_editing(self.member, pk)

    def block(self) -> Block:
        ids = list(Block.objects.order_by("pk").values_list("pk", flat=True))
        if not ids:
            raise RuleBroken("There is no block.")
        return block_for_editing(self.member, self.dice.choice(ids))

    def activity(self) -> int:
        return int(self.dice.choice(list(Activity.objects.order_by("pk").values_list("pk", flat=True))))

    def day(self) -> dt.date:
        return self.year.first_day + dt.timedelta(self.dice.randrange((self.year.last_day - self.year.first_day).days))

    def add(self) -> None:
        start = five(self.dice)
        length = self.dice.choice([10, 15, 30, 45])
        credits = ((self.activity(), length // 2),) if self.dice.random() < 0.3 else ()
        kind = self.dice.choice(list(self.year.day_kinds.order_by("pk")))
        day = self.dice.choice(cycle_of(self.year).usual_days)
        placed = Placing(day, kind.pk, start, start + length, self.activity(), credits)
        weeks.add_block(self.week(), member=self.member, placing=placed)

    def move(self) -> None:
        block = self.block()
        start = five(self.dice)
        weeks.move_block(
            block,
            member=self.member,
            revision=block.revision,
            day=block.column.day,
            kind=block.column.kind_id,
            start=start,
            end=start + self.dice.choice([block.end - block.start, 20, 40]),
        )

    def split(self) -> None:
        block = self.block()
        weeks.split_block(block, member=self.member, revision=block.revision, at=(block.start + block.end) // 2)

    def remove(self) -> None:
        block = self.block()
        weeks.remove_block(block, member=self.member, revision=block.revision)

    def undo(self) -> None:
        undoing.undo(self.week(), member=self.member)

    def change_day(self) -> None:
        start = five(self.dice)
        rooms = tuple(room for room in self.year.classrooms.order_by("pk") if self.dice.random() < 0.5)
        if self.dice.random() < 0.3:
            happening = Happening(self.day(), "Flood", closed=True, classrooms=rooms)
        else:
            credits = ((self.activity(), 20),)
            happening = Happening(self.day(), "Trip", start=start, end=start + 60, credits=credits, classrooms=rooms)
        day_changes.place(self.year, happening)

    def lift(self) -> None:
        changes = list(DayChange.objects.order_by("pk"))
        if changes:
            day_changes.lift(self.dice.choice(changes))

    def name_day(self) -> None:
        calendar.set_day_kind(self.year, self.day(), self.dice.choice(list(self.year.day_kinds.order_by("pk"))))

    def close(self) -> None:
        day = self.day()
        calendar.close_dates(self.year, day, min(day + dt.timedelta(2), self.year.last_day), "Storm")

    def ease_rule(self) -> None:
        rule = self.dice.choice(list(Rule.objects.order_by("pk")))
        rule.grades = sorted({*rule.grades, *self.dice.choice(list(self.year.classrooms.order_by("pk"))).grades})
        rules.set_rules(self.year, [rule])

    def start_week(self) -> None:
        week_versions.start_week(self.week(), starts=self.day())


@pytest.mark.parametrize("seed", range(12))
def test_readings_after_any_sequence_of_edits_equal_a_count_from_nothing(seed: int) -> None:
    dice = Random(seed)  # noqa: S311 - chance for tests, nothing to guard
    year = load(random_school(dice)).year
    somebody = Somebody(year, make.make_coordinator(year.school, role="administrator"), dice)
    for _ in range(EDITS):
        somebody.act()
    assert len(somebody.done) > EDITS / 3
    with transaction.atomic():
        assert not recompute(make.begin(year), from_scratch=True).pairs
