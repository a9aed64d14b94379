"""Whatever two people do, undo and redo go as two stacks that know no database."""

from dataclasses import dataclass, field

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.access import block_for_editing, week_for_editing
from scheduling.models import Block
from scheduling.services import restoring, undoing, weeks
from scheduling.services.block_writing import placing_of
from teamroom.common.errors import RuleBroken
from teamroom.members.models import Member
from tests import factories as make

PLACES = {0: "mon", 1: "tue"}
STEPS = st.lists(st.tuples(st.sampled_from(["edit", "undo", "redo"]), st.sampled_from([0, 1])), max_size=14)


@dataclass
class Stack:
    """One person's edits of a block nobody else touches: the ends it had, and where in them it is."""

    ends: list[int] = field(default_factory=lambda: [540])
    at: int = 0

    def edit(self) -> None:
        # Another end each time, so that no two states are alike.
        del self.ends[self.at + 1 :]
        self.ends.append(max(self.ends) + 1)
        self.at += 1

    def can(self, step: str) -> bool:
        return step == "edit" or (self.at > 0 if step == "undo" else self.at + 1 < len(self.ends))

    def do(self, step: str) -> None:
        if step == "edit":
            self.edit()
        else:
            self.at += -1 if step == "undo" else 1


@pytest.mark.django_db
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=STEPS)
def test_undo_and_redo_go_as_a_stack_for_each_person(steps: list[tuple[str, int]]) -> None:
    with transaction.atomic():
        _told(steps)
        transaction.set_rollback(True)


def _told(steps: list[tuple[str, int]]) -> None:
    classroom = make.make_classroom(make.make_year())
    people = [make.make_teacher(classroom, name) for name in ("Ana", "Ben")]
    week = make.make_week(classroom)
    stacks = [Stack(), Stack()]
    placer = make.make_teacher(classroom, "Cleo")
    make.add(week, placer, *((day, "08:00", "09:00", "math") for day in PLACES.values()))
    for step, who in steps:
        _step(week.pk, step, people[who], PLACES[who], stacks[who])
    ends = [Block.objects.get(column__week=week, column__day=day).end for day in PLACES.values()]
    assert ends == [stack.ends[stack.at] for stack in stacks]
    week.refresh_from_db()
    replayed = restoring.state_at(week, week.revision)
    assert sorted(kept["end"] for kept in replayed.values()) == sorted(ends)


def _step(pk: int, step: str, member: Member, day: str, stack: Stack) -> None:
    if not stack.can(step):
        week = week_for_editing(member, pk)
        last = undoing.last_to_undo if step == "undo" else undoing.last_to_redo
        assert last(week, member) is None
        with pytest.raises(RuleBroken, match="nothing of yours"), transaction.atomic():
            getattr(undoing, step)(week, member=member)
        return
    stack.do(step)
    if step == "edit":
        held = block_for_editing(member, Block.objects.get(column__week=pk, column__day=day).pk)
        placing = placing_of(held, end=stack.ends[stack.at])
        weeks.change_block(held, member=member, revision=held.revision, placing=placing)
    else:
        getattr(undoing, step)(week_for_editing(member, pk), member=member)
