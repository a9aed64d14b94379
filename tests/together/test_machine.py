"""A week edited by three people in every order Hypothesis can think of, held against a model that knows no database.

TEAMROOM_MACHINES says how many stories of 25 edits are tried (12 unless told).
"""

import copy
import os
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from functools import wraps
from itertools import count
from typing import Any

import pytest
from django.db import transaction
from django.http import Http404
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from scheduling.access import block_for_editing, week_for_editing
from scheduling.models import Week, WeekChange
from scheduling.services import restoring, undoing, weeks
from scheduling.services.week_edits import Edit
from teamroom.common.errors import RuleBroken
from teamroom.common.errors import Stale as ToldStale
from teamroom.members.models import Member
from tests import factories as make
from tests.at_once import at_once
from tests.together.checking import faults, standing
from tests.together.model import Blocks, ModelWeek, Record, Refused, Stale, Value

pytestmark = pytest.mark.django_db(transaction=True)
STORIES = int(os.environ.get("TEAMROOM_MACHINES", "12"))
NEW = -1
NAMES = count()
DAYS = st.sampled_from(("mon", "tue"))
STARTS = st.integers(0, 11).map(lambda n: 480 + 30 * n)
LENGTHS = st.sampled_from((30, 30, 60))
ACTIVITIES = st.sampled_from(("math", "art", "pe"))
REASONS = st.sampled_from(("", "quiet time"))
PEOPLE = st.integers(0, 2)
PLACES = st.integers(0, 99)


@dataclass
class Deed:
    """Something a person is about to do: in the app, and in the model."""

    member: int
    verb: str
    do: Callable[[Member], Edit]
    model: Callable[[ModelWeek], Record]


def needs_a_block(step: Callable[..., None]) -> Callable[..., None]:
    """Skip a step while the week is empty. No precondition: who of two was first is chance, no story hangs on it."""

    @wraps(step)
    def unless_empty(self: "Machine", **drawn: Any) -> None:
        if self.model.blocks:
            step(self, **drawn)

    return unless_empty


class Machine(RuleBasedStateMachine):
    @initialize()
    def begin(self) -> None:
        number = next(NAMES)
        self.year = make.make_year(f"School {number}")
        self.week = make.make_week(make.make_classroom(self.year))
        team = self.week.classroom.team
        team.edits_together = True
        team.save()
        self.people = [make.make_teammate(team, f"Person{number}x{n}") for n in range(3)]
        make.make_rule(self.year, "math_week", {"pool": {"of": ["math"]}, "at_least": 90})
        make.make_rule(self.year, "art_day", {"pool": {"of": ["art"]}, "recommended": 30, "window": "day"})
        self.year.refresh_from_db()
        self.model = ModelWeek()

    # What people do.

    @rule(who=PEOPLE, day=DAYS, start=STARTS, length=LENGTHS, activity=ACTIVITIES, why=REASONS)
    def add(self, who: int, day: str, start: int, length: int, activity: str, why: str) -> None:
        self.tell(self.adding(who, (day, start, start + length, activity, (), why)))

    @rule(who=PEOPLE, place=PLACES, late=st.booleans(), length=LENGTHS, activity=ACTIVITIES, part=st.booleans())
    @needs_a_block
    def change(self, who: int, place: int, late: bool, length: int, activity: str, part: bool) -> None:
        pk, revision = self.seen(place, late)
        day, start, _, _, _, why = self.model.blocks[pk]
        credits = ((activity, length // 2),) if part else ()
        self.tell(self.changing(who, pk, revision, (day, start, start + length, activity, credits, why)))

    @rule(who=PEOPLE, place=PLACES, late=st.booleans(), day=DAYS, start=STARTS)
    @needs_a_block
    def move(self, who: int, place: int, late: bool, day: str, start: int) -> None:
        self.tell(self.moving(who, *self.seen(place, late), day, start))

    @rule(who=PEOPLE, place=PLACES, late=st.booleans())
    @needs_a_block
    def split(self, who: int, place: int, late: bool) -> None:
        pk, revision = self.seen(place, late)
        if not self.model.blocks[pk][4]:
            self.tell(self.splitting(who, pk, revision))

    @rule(who=PEOPLE, place=PLACES, late=st.booleans())
    @needs_a_block
    def remove(self, who: int, place: int, late: bool) -> None:
        self.tell(self.removing(who, *self.seen(place, late)))

    @rule(who=PEOPLE)
    def undo(self, who: int) -> None:
        self.tell(self.undoing(who))

    @rule(who=PEOPLE)
    def redo(self, who: int) -> None:
        self.tell(
            Deed(who, "redo", lambda by: undoing.redo(self.locked(by), member=by), lambda model: model.redoing(who))
        )

    @rule(who=PEOPLE, place=PLACES)
    def restore(self, who: int, place: int) -> None:
        revision = 1 + place % self.model.revision
        self.tell(
            Deed(
                who,
                "restore",
                lambda by: restoring.restore(self.locked(by), member=by, revision=revision),
                lambda model: model.restoring(revision, who),
            )
        )

    @rule(who=PEOPLE, place=PLACES, day=DAYS, start=STARTS, other=st.integers(0, 4), again=PLACES)
    @needs_a_block
    def at_the_same_moment(self, who: int, place: int, day: str, start: int, other: int, again: int) -> None:
        """One moves a block while another does something of their own, on a connection each."""
        them = (who + 1) % 3
        pk, revision = self.seen(again, late=False)
        second = (
            lambda: self.adding(them, (day, start, start + 30, "pe", (), "")),
            lambda: self.moving(them, pk, revision, day, start + 30),
            lambda: self.removing(them, pk, revision),
            lambda: self.undoing(them),
            lambda: self.changing(them, pk, revision, (*self.model.blocks[pk][:3], "art", (), "both")),
        )[other]()
        self.tell_both(self.moving(who, *self.seen(place, late=False), day, start), second)

    # The deeds.

    def adding(self, who: int, value: Value) -> Deed:
        placing = self.placing(value)
        return Deed(
            who,
            "add",
            lambda by: weeks.add_block(self.locked(by), member=by, placing=placing),
            lambda model: Record(who, "add", {}, {NEW: value}),
        )

    def changing(self, who: int, pk: int, revision: int, value: Value) -> Deed:
        placing = self.placing(value)

        def model(week: ModelWeek) -> Record:
            was = week.check(pk, revision)
            if was == value:
                raise Refused
            return Record(who, "change", {pk: was}, {pk: value})

        def do(by: Member) -> Edit:
            return weeks.change_block(block_for_editing(by, pk), member=by, revision=revision, placing=placing)

        return Deed(who, "change", do, model)

    def moving(self, who: int, pk: int, revision: int, day: str, start: int) -> Deed:
        def model(week: ModelWeek) -> Record:
            was = week.check(pk, revision)
            value = (day, start, start + was[2] - was[1], *was[3:])
            if was == value:
                raise Refused
            return Record(who, "move", {pk: was}, {pk: value})

        def do(by: Member) -> Edit:
            block = block_for_editing(by, pk)
            asked = {"day": day, "kind": block.column.kind_id, "start": start, "end": start + block.end - block.start}
            return weeks.move_block(block, member=by, revision=revision, **asked)

        return Deed(who, "move", do, model)

    def splitting(self, who: int, pk: int, revision: int) -> Deed:
        def model(week: ModelWeek) -> Record:
            was = week.check(pk, revision)
            at = was[1] + 15
            return Record(who, "split", {pk: was}, {pk: (*was[:2], at, *was[3:]), NEW: (was[0], at, *was[2:])})

        def do(by: Member) -> Edit:
            block = block_for_editing(by, pk)
            return weeks.split_block(block, member=by, revision=revision, at=block.start + 15)

        return Deed(who, "split", do, model)

    def removing(self, who: int, pk: int, revision: int) -> Deed:
        return Deed(
            who,
            "remove",
            lambda by: weeks.remove_block(block_for_editing(by, pk), member=by, revision=revision),
            lambda week: Record(who, "remove", {pk: week.check(pk, revision)}, {}),
        )

    def undoing(self, who: int) -> Deed:
        return Deed(who, "undo", lambda by: undoing.undo(self.locked(by), member=by), lambda model: model.undoing(who))

    # Telling the app, and holding it against the model.

    def tell(self, deed: Deed) -> None:
        known = set(self.model.blocks)
        try:
            record = deed.model(self.model)
            self.model.wanted(record.before, record.after)
            refusal = None
        except Refused as refused:
            refusal = refused
        if refusal is not None:
            expected = (ToldStale, Http404) if isinstance(refusal, Stale) else RuleBroken
            with pytest.raises(expected):
                self.act(deed)
            return
        edit = self.act(deed)
        self.model.record(named(record, edit.change, known))

    def tell_both(self, first: Deed, second: Deed) -> None:
        """Two at once: what was done, in its recorded order, the model allows; what was not, it may refuse."""
        deeds = {self.people[deed.member].pk: deed for deed in (first, second)}
        since = self.model.revision
        at_once(*(lambda deed=deed: self.act_or_miss(deed) for deed in deeds.values()))
        models = [copy.deepcopy(self.model)]
        changes = list(WeekChange.objects.filter(week=self.week, revision__gt=since).order_by("revision"))
        for change in changes:
            assert change.member_id is not None
            record = deeds.pop(change.member_id).model(self.model)
            self.model.record(named(record, change, set(self.model.blocks)))
            models.append(copy.deepcopy(self.model))
        for deed in deeds.values():
            assert any(refuses(deed, model) for model in models), f"{deed.verb} was refused for nothing"

    def act(self, deed: Deed) -> Edit:
        with transaction.atomic():
            return deed.do(self.people[deed.member])

    def act_or_miss(self, deed: Deed) -> None:
        with suppress(Http404):  # somebody was first and removed it
            self.act(deed)

    @invariant()
    def the_week_is_as_in_the_model(self) -> None:
        if not hasattr(self, "model"):
            return
        assert {pk: valued(kept) for pk, kept in standing(self.week).items()} == self.model.blocks
        assert Week.objects.get(pk=self.week.pk).revision == self.model.revision

    @invariant()
    def nothing_is_wrong_with_the_year(self) -> None:
        if hasattr(self, "year"):
            assert faults(self.year) == []

    # Helps.

    def locked(self, by: Member) -> Week:
        return week_for_editing(by, self.week.pk)

    def seen(self, place: int, late: bool) -> tuple[int, int]:
        """A block and the revision somebody saw it at: its present one, or one before."""
        pk = sorted(self.model.blocks)[place % len(self.model.blocks)]
        return pk, self.model.edited[pk] - late

    def placing(self, value: Value) -> Any:
        day, start, end, activity, credits, why = value
        first, last = (f"{minute // 60:02}:{minute % 60:02}" for minute in (start, end))
        return make.placing(self.year, day, first, last, activity, credits=dict(credits), why=why)


def refuses(deed: Deed, model: ModelWeek) -> bool:
    try:
        record = deed.model(model)
        model.wanted(record.before, record.after)
    except Refused:
        return True
    return False


def named(record: Record, change: WeekChange, known: set[int]) -> Record:
    """The record with the id that the database gave a new block."""
    made = [kept["block"] for kept in change.after if kept["block"] not in known]
    after: Blocks = {made[0] if pk == NEW else pk: value for pk, value in record.after.items()}
    return Record(record.member, record.deed, record.before, after, record.undoes)


def valued(kept: dict[str, Any]) -> Value:
    credits = tuple((key, minutes) for key, minutes in kept["credits"])
    return kept["day"], kept["start"], kept["end"], kept["activity"], credits, kept["why"]


def test_whatever_three_people_do_the_week_is_as_a_model_without_a_database_says() -> None:
    run_state_machine_as_test(
        Machine,
        settings=settings(
            max_examples=STORIES,
            stateful_step_count=25,
            deadline=None,
            # Two at the same moment come in either order, so a story cannot be shortened by telling it again.
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        ),
    )
