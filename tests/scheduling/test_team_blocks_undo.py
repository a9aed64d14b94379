"""What was done to a team block is taken back and done again in all its classrooms, or in none."""

import datetime as dt
from collections.abc import Callable, Iterator

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.access import week_for_editing
from scheduling.models import Block, Week
from scheduling.services import drafts, undoing
from scheduling.services.restoring import restore
from scheduling.services.week_versions import start_week
from teamroom.common.errors import Denied, RuleBroken
from teamroom.members.models import Team
from tests import factories as make
from tests.scheduling.team_rooms import (
    Rooms,
    change,
    disagreeing,
    make_rooms,
    move,
    remove,
    share,
    split,
    step_out,
    take_back,
)
from tests.together.checking import faults

pytestmark = pytest.mark.django_db
ART = ("tue", "09:00", "09:40", "art")
TUESDAY = [("tue", 540, 580)]


@pytest.fixture
def rooms() -> Iterator[Rooms]:
    """Art on Tuesday, held by rooms 12, 14 and 15, where it took the place of the same. All agrees after each test."""
    rooms = make_rooms()
    make.make_rule(rooms.year, "art", {"pool": {"of": ["art"]}, "at_least": 40})
    for week in rooms.weeks[:2]:
        make.add(week, rooms.ana, ART)
    share(rooms.ana, rooms.block(0, "art"), *rooms.weeks[1:])
    yield rooms
    assert disagreeing() == []
    assert faults(rooms.year) == []


DEEDS: dict[str, Callable[[Rooms], object]] = {
    "change": lambda rooms: change(rooms.ana, rooms.block(1, "art"), end=600, why="longer"),
    "move": lambda rooms: move(rooms.ana, rooms.block(2, "art"), "wed", 600, 640),
    "split": lambda rooms: split(rooms.ana, rooms.block(0, "art"), 560),
    "remove": lambda rooms: remove(rooms.ana, rooms.block(0, "art")),
}


def state(rooms: Rooms) -> list[tuple[object, ...]]:
    """Every block as it stands, with its id and team block."""
    rows = Block.objects.filter(column__week__in=rooms.weeks).order_by("pk")
    return list(rows.values_list("pk", "column__week", "column__day", "start", "end", "why", "together"))


@pytest.mark.parametrize("deed", DEEDS)
def test_a_deed_is_taken_back_and_done_again_from_any_of_its_classrooms(rooms: Rooms, deed: str) -> None:
    before = state(rooms)
    DEEDS[deed](rooms)
    after = state(rooms)
    back = take_back(rooms.ana, rooms.weeks[1])
    assert state(rooms) == before
    assert {one.classroom for one in back.elsewhere} == {rooms.weeks[0].classroom, rooms.weeks[2].classroom}
    take_back(rooms.ana, rooms.weeks[2], "redo")
    assert state(rooms) == after
    take_back(rooms.ana, rooms.weeks[0])
    assert state(rooms) == before


def test_sharing_is_taken_back_and_leaves_each_classroom_what_it_had(rooms: Rooms) -> None:
    take_back(rooms.ana, rooms.weeks[2])
    assert rooms.times() == [TUESDAY, TUESDAY, []]
    assert rooms.together() == [set(), set(), set()]
    take_back(rooms.ana, rooms.weeks[0], "redo")
    assert rooms.times() == [TUESDAY] * 3
    assert rooms.together()[0] == rooms.together()[1] == rooms.together()[2] != set()


def test_stepping_out_is_taken_back_and_the_block_goes_with_the_others_again(rooms: Rooms) -> None:
    step_out(rooms.ana, rooms.block(1, "art"))
    take_back(rooms.ana, rooms.weeks[1])
    move(rooms.ana, rooms.block(0, "art"), "tue", 600, 640)
    assert rooms.times() == [[("tue", 600, 640)]] * 3


def test_who_comes_back_after_the_others_moved_holds_what_they_left_behind(rooms: Rooms) -> None:
    step_out(rooms.ana, rooms.block(1, "art"))
    move(rooms.ana, rooms.block(0, "art"), "tue", 600, 640)
    take_back(rooms.ana, rooms.weeks[1])
    assert rooms.times() == [[("tue", 600, 640)], TUESDAY, [("tue", 600, 640)]]
    move(rooms.ana, rooms.block(0, "art"), "tue", 660, 700)
    assert rooms.times()[1] == TUESDAY


def test_a_deed_is_taken_back_in_none_where_a_colleague_built_on_it_in_one(rooms: Rooms) -> None:
    ben = make.make_teammate(rooms.weeks[0].classroom.team, "Ben")
    move(rooms.ana, rooms.block(0, "art"), "tue", 600, 640)
    step_out(ben, rooms.block(2, "art"))
    with pytest.raises(RuleBroken, match="In Room15, this cannot be taken back: Ben changed Art on"):
        take_back(rooms.ana, rooms.weeks[0])
    assert rooms.times() == [[("tue", 600, 640)]] * 3


def test_a_deed_is_taken_back_in_none_where_its_time_is_taken_in_one(rooms: Rooms) -> None:
    move(rooms.ana, rooms.block(0, "art"), "tue", 600, 640)
    make.add(rooms.weeks[2], make.make_teammate(rooms.weeks[0].classroom.team, "Ben"), ("tue", "09:00", "09:30", "pe"))
    with pytest.raises(RuleBroken, match="In Room15, this cannot be taken back: PE now takes 9:00 to 9:30"):
        take_back(rooms.ana, rooms.weeks[0])
    assert rooms.times() == [[("tue", 600, 640)]] * 3


def test_who_may_no_longer_edit_all_takes_it_back_in_none(rooms: Rooms) -> None:
    move(rooms.ana, rooms.block(0, "art"), "tue", 600, 640)
    Team.objects.update(edits_together=False)
    with pytest.raises(Denied):
        take_back(rooms.ana, rooms.weeks[0])
    assert rooms.times() == [[("tue", 600, 640)]] * 3


def test_the_page_takes_it_back_in_all(rooms: Rooms, client: Client) -> None:
    edit = move(rooms.ana, rooms.block(0, "art"), "tue", 600, 640)
    client.force_login(rooms.ana)
    url = reverse("scheduling:week-undo", args=[rooms.weeks[0].pk])
    answer = client.post(url, {"change": edit.change.pk}, headers={"HX-Request": "true"}).content.decode()
    assert rooms.times() == [TUESDAY] * 3
    assert "Room14 and Room15" in answer


def test_a_week_put_back_holds_its_own_block_and_leaves_the_others_alone(rooms: Rooms) -> None:
    move(rooms.ana, rooms.block(0, "art"), "tue", 600, 640)
    with transaction.atomic():
        held = week_for_editing(rooms.ana, rooms.weeks[1].pk)
        restore(held, member=rooms.ana, revision=held.revision - 1)
    assert rooms.times() == [[("tue", 600, 640)], TUESDAY, [("tue", 600, 640)]]
    assert rooms.together()[1] == set()
    take_back(rooms.ana, rooms.weeks[1])
    assert rooms.together()[0] == rooms.together()[1]
    move(rooms.ana, rooms.block(0, "art"), "tue", 660, 700)
    assert rooms.times() == [[("tue", 660, 700)]] * 3


STEPS = st.lists(
    st.tuples(
        st.sampled_from(
            ["share", "share", "step out", "change", "move", "move", "split", "remove", "undo", "undo", "redo", "own"]
            + ["version", "draft", "in effect", "restore"]
        ),
        st.integers(0, 30),
        st.integers(0, 30),
    ),
    min_size=4,
    max_size=18,
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=STEPS)
def test_whatever_is_done_the_blocks_of_one_team_block_agree(steps: list[tuple[str, int, int]]) -> None:
    """And records lead to what is, and readings are as from scratch, in versions and drafts too."""
    with transaction.atomic():
        walk = Walk()
        for step in steps:
            walk.take(*step)
        assert disagreeing() == []
        assert faults(walk.rooms.year) == []
        transaction.set_rollback(True)


class Walk:
    """A team that does whatever the numbers say; refusals are part of it."""

    def __init__(self) -> None:
        self.rooms = make_rooms()
        self.people = [self.rooms.ana, make.make_teammate(self.rooms.weeks[0].classroom.team, "Ben")]
        for week in self.rooms.weeks[:2]:
            make.add(week, self.rooms.ana, ART, ("mon", "08:00", "09:00", "math"))

    def take(self, step: str, first: int, second: int) -> None:
        member = self.people[first % 2]
        blocks, weeks = list(Block.objects.order_by("pk")), list(Week.objects.order_by("pk"))
        week = weeks[second % len(weeks)]
        try:
            with transaction.atomic():
                if step in ("undo", "redo"):
                    take_back(member, week, step)
                elif step in ("version", "draft", "in effect", "restore", "own"):
                    self._of_week(step, week_for_editing(member, week.pk), first)
                elif blocks:
                    self._of_block(step, blocks[first % len(blocks)], second)
        except RuleBroken:
            return

    def _of_week(self, step: str, week: Week, n: int) -> None:
        member, starts = self.people[n % 2], make.FIRST_DAY + dt.timedelta(days=7 * (1 + n % 3))
        if step == "own":
            make.add(week, member, ("wed", "09:00", "09:40", "art"))
        elif step == "version":
            start_week(week, starts=starts, member=member)
        elif step == "draft":
            drafts.prepare_draft(week, starts=starts, member=member)
        elif step == "in effect":
            drafts.put_in_effect(week, seen=drafts.mark_of(week), member=member, replace=n % 2 == 0)
        else:
            restore(week, member=member, revision=1 + n % week.revision)

    def _of_block(self, step: str, block: Block, n: int) -> None:
        member = self.people[n % 2]
        if step == "share":
            share(member, block, *self.rooms.weeks[n % 3 :])
        elif step == "step out":
            step_out(member, block)
        elif step == "change":
            change(member, block, end=block.end + 5 * (n % 4 - 2), why=str(n % 3))
        elif step == "move":
            start = 480 + 20 * n
            move(member, block, ("tue", "wed")[n % 2], start, start + block.end - block.start)
        elif step == "split":
            split(member, block, block.start + 5 * (n % 5))
        else:
            remove(member, block)


def test_the_walk_comes_to_team_blocks_of_several_classrooms_and_takes_deeds_back(rooms: Rooms) -> None:
    """What the test before it relies on."""
    walk = Walk.__new__(Walk)
    walk.rooms, walk.people = rooms, [rooms.ana, rooms.ana]
    walk.take("move", 0, 4)
    assert rooms.times() == [[("tue", 560, 600)]] * 3
    walk.take("undo", 0, 1)
    assert rooms.times() == [TUESDAY] * 3
    assert undoing.last_to_redo(rooms.weeks[2], rooms.ana) is not None
    walk.take("step out", 1, 0)
    walk.take("share", 0, 1)
    assert rooms.together()[0] == rooms.together()[1] == rooms.together()[2]
