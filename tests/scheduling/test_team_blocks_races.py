"""Team blocks at the same moment, on several connections: edits that cross never wait for each other in a ring."""

import threading
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from random import Random

import pytest
from django.db import connection, transaction
from django.http import Http404

from scheduling.access import MovedOn, block_for_editing, week_for_editing
from scheduling.models import Block, WeekChange
from scheduling.services import weeks
from scheduling.services.block_writing import placing_of
from teamroom.common.errors import RuleBroken, Stale
from teamroom.members.models import Member
from tests import factories as make
from tests.at_once import at_once
from tests.scheduling.team_rooms import Rooms, change, disagreeing, make_rooms, share, step_out, take_back
from tests.together.checking import faults

pytestmark = pytest.mark.django_db(transaction=True)
ROUNDS = 6


@pytest.fixture
def rooms() -> Rooms:
    """Two team blocks of all three classrooms, and a block of each one's own."""
    rooms = make_rooms()
    make.make_rule(rooms.year, "art", {"pool": {"of": ["art"]}, "at_least": 40})
    make.add(rooms.weeks[0], rooms.ana, ("tue", "09:00", "09:40", "art"), ("wed", "09:00", "09:40", "pe"))
    for week in rooms.weeks:
        make.add(week, rooms.ana, ("mon", "09:00", "09:40", "math"))
    share(rooms.ana, rooms.block(0, "art"), *rooms.weeks[1:])
    share(rooms.ana, rooms.block(0, "pe"), *rooms.weeks[1:])
    return rooms


def lengthen(rooms: Rooms, room: int, activity: str) -> Callable[[], object]:
    block = rooms.block(room, activity)
    return partial(_lengthen, rooms.ana, block.pk, block.revision)


@transaction.atomic
def _lengthen(member: Member, pk: int, revision: int) -> None:
    block = block_for_editing(member, pk)
    weeks.change_block(block, member=member, revision=revision, placing=placing_of(block, end=block.end + 5))


def test_edits_of_team_blocks_that_cross_and_edits_of_single_blocks_all_succeed(rooms: Rooms) -> None:
    """Locked in the order in which each meets them, the first two would wait for each other."""
    for _ in range(ROUNDS):
        raised = at_once(
            lengthen(rooms, 0, "art"),
            lengthen(rooms, 2, "pe"),
            *(lengthen(rooms, room, "math") for room in (2, 1, 0)),
        )
        assert raised == []
    assert rooms.times("art") == [[("tue", 540, 580 + 5 * ROUNDS)]] * 3
    assert rooms.times("pe") == [[("wed", 540, 580 + 5 * ROUNDS)]] * 3
    assert rooms.times("math") == [[("mon", 540, 580 + 5 * ROUNDS)]] * 3
    assert faults(rooms.year) == []


def test_of_two_who_change_one_team_block_from_two_classrooms_the_second_is_told(rooms: Rooms) -> None:
    for n in range(ROUNDS):
        raised = at_once(lengthen(rooms, 0, "art"), lengthen(rooms, 2, "art"))
        assert [isinstance(refused, Stale) for refused in raised] == [True]
        assert rooms.times("art") == [[("tue", 540, 580 + 5 * (n + 1))]] * 3
    assert disagreeing() == []


def test_who_comes_to_hold_a_block_while_it_is_changed_holds_what_it_became_or_what_it_was(rooms: Rooms) -> None:
    """Whoever is second either meets the others' change or is asked to look again; nothing is half-shared."""
    for n in range(ROUNDS):
        step_out(rooms.ana, rooms.block(1, "art"))
        own = rooms.block(1, "art")
        with transaction.atomic():
            held = block_for_editing(rooms.ana, own.pk)
            weeks.remove_block(held, member=rooms.ana, revision=held.revision)
        at_once(
            partial(_tried, lambda: share(rooms.ana, rooms.block(2, "art"), rooms.weeks[1])),
            partial(_tried, partial(change, rooms.ana, rooms.block(0, "art"), end=580 + n % 2)),
        )
        if not rooms.times("art")[1]:
            share(rooms.ana, rooms.block(2, "art"), rooms.weeks[1])
        assert rooms.times("art")[0] == rooms.times("art")[1] == rooms.times("art")[2]
        assert rooms.together()[0] == rooms.together()[1] == rooms.together()[2]
        assert disagreeing() == []
    assert faults(rooms.year) == []


def _tried(deed: Callable[[], object]) -> None:
    try:
        deed()
    except RuleBroken:
        return


def commit_once_somebody_waits() -> None:
    """Keep the present transaction open until another waits for what it has locked."""
    with connection.cursor() as cursor:
        for _ in range(500):
            cursor.execute("SELECT count(*) FROM pg_locks WHERE NOT granted")
            if cursor.fetchone() != (0,):
                return
            # Nothing tells when somebody begins to wait.
            time.sleep(0.01)
    raise AssertionError("nobody came to wait")


@pytest.mark.parametrize(("activity", "first"), [("math", 1), ("art", 0)])
def test_who_looked_before_others_came_to_hold_the_block_is_told_and_then_changes_it_for_all(
    rooms: Rooms, activity: str, first: int
) -> None:
    """What it is locked with was looked up while the sharing was not yet committed."""
    if activity == "art":
        step_out(rooms.ana, rooms.block(2, "art"))
    shared, asking = rooms.block(0, activity), rooms.block(first, activity).pk
    sharing = threading.Event()

    @transaction.atomic
    def share_it() -> None:
        share(rooms.ana, shared, *rooms.weeks[1:])
        sharing.set()
        commit_once_somebody_waits()

    @transaction.atomic
    def ask() -> None:
        sharing.wait(timeout=20)
        block_for_editing(rooms.ana, asking)

    (told,) = at_once(share_it, ask)
    assert isinstance(told, MovedOn)
    change(rooms.ana, rooms.block(first, activity), end=590)
    assert {end for room in rooms.times(activity) for _, _, end in room} == {590}
    assert len(rooms.times(activity)[2]) == 1
    assert faults(rooms.year) == []


def test_a_crowd_leaves_all_weeks_whole(rooms: Rooms) -> None:
    """Each of six does whatever chance says, from whichever classroom."""

    def crowd(seed: int) -> None:
        chance = Random(seed)  # noqa: S311 - chance, no secret
        for _ in range(8):
            try:
                _anything(rooms, chance)
            except (RuleBroken, Http404):
                continue

    at_once(*(partial(crowd, seed) for seed in range(6)))
    assert WeekChange.objects.filter(batch__isnull=False).count() > 12
    assert disagreeing() == []
    assert faults(rooms.year) == []


def _anything(rooms: Rooms, chance: Random) -> None:
    pk = chance.choice(list(Block.objects.order_by("pk").values_list("pk", flat=True)))
    block = Block.objects.filter(pk=pk).first()
    deed = chance.choice(["change", "change", "own", "share", "step out", "undo"])
    if block is None:
        return
    if deed == "change":
        change(rooms.ana, block, end=block.end + chance.choice([-5, 5]))
    elif deed == "share":
        share(rooms.ana, block, *chance.sample(rooms.weeks, 2))
    elif deed == "step out":
        step_out(rooms.ana, block)
    elif deed == "undo":
        take_back(rooms.ana, chance.choice(rooms.weeks))
    else:
        week = chance.choice(rooms.weeks)
        start = 600 + 10 * chance.randint(0, 20)
        placing = make.placing(rooms.year, "thu", "08:00", "08:10", "reading")
        with transaction.atomic():
            held = week_for_editing(rooms.ana, week.pk)
            weeks.add_block(held, member=rooms.ana, placing=replace(placing, start=start, end=start + 10))
