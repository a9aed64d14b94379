"""Team blocks: shared, changed once for all who hold them, stepped out of; all or nothing."""

import datetime as dt
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.db import transaction
from django.http import Http404

from scheduling.access import block_for_editing, block_for_sharing, week_for_editing
from scheduling.models import Block, BlockUse, Reading, SharedResource, TeamBlock, Week, WeekChange
from scheduling.selectors.team_blocks import held_with, kept_elsewhere, rooms_holding, ways_in
from scheduling.services import classrooms, day_kinds, drafts, weeks
from scheduling.services.block_writing import placing_of
from scheduling.services.week_versions import start_week
from teamroom.common.errors import Denied, RuleBroken, Stale
from teamroom.common.live.models import Topic
from teamroom.dates.calendar_maths import Cycle
from teamroom.dates.models import School
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
)
from tests.together.checking import faults

pytestmark = pytest.mark.django_db
ART = ("tue", "09:00", "09:40", "art")
JANUARY = dt.date(2026, 10, 5)
"""When the second versions of these eight weeks begin."""


@pytest.fixture
def rooms() -> Iterator[Rooms]:
    """Art on Tuesday in room 12; rooms 14 and 15 have the time free. After each test, all agrees."""
    rooms = make_rooms()
    make.make_rule(rooms.year, "art", {"pool": {"of": ["art"]}, "at_least": 40})
    make.add(rooms.weeks[0], rooms.ana, ART)
    yield rooms
    assert disagreeing() == []
    assert faults(rooms.year) == []


@pytest.fixture
def shared(rooms: Rooms) -> Rooms:
    """The same, and all three hold it together."""
    share(rooms.ana, rooms.block(0, "art"), *rooms.weeks[1:])
    return rooms


def test_a_block_is_shared_into_free_time_and_makes_its_minutes_there(rooms: Rooms) -> None:
    edit = share(rooms.ana, rooms.block(0, "art"), *rooms.weeks[1:])
    assert rooms.times() == [[("tue", 540, 580)]] * 3
    assert len({frozenset(held) for held in rooms.together()}) == 1
    assert [room.classroom for room in edit.elsewhere] == [week.classroom for week in rooms.weeks[1:]]
    statuses = Reading.objects.filter(rule__key="art", part=0).values_list("status", flat=True)
    assert list(statuses) == ["met"] * 3
    assert WeekChange.objects.filter(batch=edit.change.batch).count() == 3
    assert sorted(WeekChange.objects.filter(batch=edit.change.batch).values_list("deed", flat=True)) == [
        "join",
        "join",
        "share",
    ]


def test_an_equal_block_gives_way_and_keeps_its_id_and_what_it_uses(rooms: Rooms) -> None:
    make.add(rooms.weeks[1], rooms.ana, ART)
    cart = SharedResource.objects.create(year=rooms.year, key="cart", name="Cart")
    make.begin(rooms.year)
    there = rooms.block(1, "art")
    BlockUse.objects.create(block=there, resource=cart)
    WeekChange.objects.filter(week=rooms.weeks[1]).update(after=[_snapshot(there)])
    change(rooms.ana, rooms.block(0, "art"), why="the aide is here")
    share(rooms.ana, rooms.block(0, "art"), rooms.weeks[1])
    after = rooms.block(1, "art")
    assert (after.pk, after.why, after.uses.get().resource) == (there.pk, "the aide is here", cart)
    assert rooms.together()[2] == set()


def _snapshot(block: Block) -> dict[str, Any]:
    kept: dict[str, Any] = WeekChange.objects.get(week=block.column.week_id).after[0]
    return kept | {"uses": [["cart", 1]]}


@pytest.mark.parametrize(
    ("placed", "why"),
    [
        (("tue", "09:20", "10:00", "math"), "Math already takes 9:20 to 10:00"),
        (("tue", "09:00", "09:45", "art"), "Art already takes 9:00 to 9:45"),
        (("tue", "09:00", "09:40", "science"), "Science already takes 9:00 to 9:40"),
    ],
)
def test_what_stands_in_the_way_is_named_and_nothing_is_shared(rooms: Rooms, placed: Any, why: str) -> None:
    make.add(rooms.weeks[2], rooms.ana, placed)
    ways = ways_in(rooms.block(0, "art"), [week.classroom for week in rooms.weeks[1:]])
    assert [way.said for way in ways] == ["goes into free time", why]
    with pytest.raises(RuleBroken, match=f"Room15: {why}"):
        share(rooms.ana, rooms.block(0, "art"), *rooms.weeks[1:])
    assert rooms.together() == [set(), set(), set()]
    assert not TeamBlock.objects.exists()


def test_a_block_of_another_team_block_does_not_give_way(rooms: Rooms) -> None:
    make.add(rooms.weeks[1], rooms.ana, ART)
    share(rooms.ana, rooms.block(1, "art"), rooms.weeks[2])
    with pytest.raises(RuleBroken, match="another team block: step out of that first"):
        share(rooms.ana, rooms.block(0, "art"), rooms.weeks[1])


def test_who_saw_another_way_in_is_told(rooms: Rooms) -> None:
    seen = [way.token for way in ways_in(rooms.block(0, "art"), [rooms.weeks[1].classroom])]
    make.add(rooms.weeks[1], rooms.ana, ART)
    with pytest.raises(Stale):
        share(rooms.ana, rooms.block(0, "art"), rooms.weeks[1], seen=seen)
    with pytest.raises(Stale):
        share(rooms.ana, rooms.block(0, "art"), rooms.weeks[2], revision=1)
    with pytest.raises(RuleBroken, match="Choose a classroom"):
        share(rooms.ana, rooms.block(0, "art"))


def test_a_classroom_takes_a_team_block_that_others_hold(rooms: Rooms) -> None:
    art = rooms.block(0, "art")
    share(rooms.ana, art, rooms.weeks[1])
    before = rooms.block(0, "art").revision
    edit = share(rooms.ana, rooms.block(1, "art"), rooms.weeks[2])
    assert rooms.together()[0] == rooms.together()[1] == rooms.together()[2]
    assert rooms.block(0, "art").revision == before
    assert (edit.change.week, edit.elsewhere) == (rooms.weeks[2], ())


def test_a_change_shows_in_each_classroom_in_one_deed(shared: Rooms) -> None:
    uses = [rooms_uses(shared, n) for n in range(3)]
    edit = change(shared.ana, shared.block(1, "art"), end=600, why="longer")
    assert shared.times() == [[("tue", 540, 600)]] * 3
    assert {shared.block(n, "art").why for n in range(3)} == {"longer"}
    assert edit.change.week == shared.weeks[1]
    assert {one.classroom for one in edit.elsewhere} == {shared.weeks[0].classroom, shared.weeks[2].classroom}
    assert all(one.readings.pairs for one in edit.elsewhere)
    assert WeekChange.objects.filter(batch=edit.change.batch, deed="change").count() == 3
    assert [rooms_uses(shared, n) for n in range(3)] == uses


def rooms_uses(rooms: Rooms, n: int) -> list[int]:
    return list(rooms.block(n, "art").uses.values_list("resource", flat=True))


def test_everybody_who_looks_at_one_of_the_classrooms_is_told_once(shared: Rooms) -> None:
    editions = dict(Topic.objects.values_list("name", "edition"))
    move(shared.ana, shared.block(0, "art"), "wed", 600, 640)
    raised = {name: edition - editions[name] for name, edition in Topic.objects.values_list("name", "edition")}
    assert {raised[f"classroom-{week.classroom_id}"] for week in shared.weeks} == {1}


def test_a_move_is_refused_in_all_where_one_has_no_room(shared: Rooms) -> None:
    make.add(shared.weeks[2], shared.ana, ("wed", "10:20", "11:00", "math"))
    changes = WeekChange.objects.count()
    with pytest.raises(RuleBroken, match=r"^In Room15, Math already takes 10:20 to 11:00: choose another time"):
        move(shared.ana, shared.block(0, "art"), "wed", 600, 640)
    assert shared.times() == [[("tue", 540, 580)]] * 3
    assert WeekChange.objects.count() == changes


def test_a_move_takes_no_day_away_from_a_classroom_that_has_no_column_for_it(shared: Rooms) -> None:
    minimum = shared.year.day_kinds.get(key="minimum")
    with pytest.raises(RuleBroken, match="In Room14, Minimum day has no column of its own there"):
        move(shared.ana, shared.block(0, "art"), "tue", 540, 580, kind=minimum.pk)
    for week in shared.weeks:
        with transaction.atomic():
            placing = make.placing(shared.year, "", "08:00", "08:30", "math", "minimum")
            held = week_for_editing(shared.ana, week.pk)
            weeks.add_block(held, member=shared.ana, placing=placing)
    move(shared.ana, shared.block(0, "art"), "", 540, 580, kind=minimum.pk)
    assert shared.times() == [[("", 540, 580)]] * 3


def test_a_split_makes_two_team_blocks(shared: Rooms) -> None:
    split(shared.ana, shared.block(2, "art"), 560)
    assert shared.times() == [[("tue", 540, 560), ("tue", 560, 580)]] * 3
    assert shared.together()[0] == shared.together()[1] == shared.together()[2]
    assert len(shared.together()[0]) == 2
    change(shared.ana, shared.block(0, "art", start=560), end=570)
    assert shared.times() == [[("tue", 540, 560), ("tue", 560, 570)]] * 3


def test_a_removal_takes_it_out_of_each_classroom(shared: Rooms) -> None:
    remove(shared.ana, shared.block(2, "art"))
    assert shared.times() == [[], [], []]


def test_who_stepped_out_keeps_a_block_of_their_own(shared: Rooms) -> None:
    edit = step_out(shared.ana, shared.block(1, "art"))
    assert (edit.change.deed, edit.change.batch) == ("step out", None)
    move(shared.ana, shared.block(0, "art"), "tue", 600, 640)
    assert shared.times() == [[("tue", 600, 640)], [("tue", 540, 580)], [("tue", 600, 640)]]
    change(shared.ana, shared.block(1, "art"), end=590)
    assert shared.times() == [[("tue", 600, 640)], [("tue", 540, 590)], [("tue", 600, 640)]]
    with pytest.raises(RuleBroken, match="classroom's own already"):
        step_out(shared.ana, shared.block(1, "art"))


def test_what_a_block_uses_is_the_classrooms_own(shared: Rooms) -> None:
    lab = SharedResource.objects.create(year=shared.year, key="lab", name="Lab")
    make.begin(shared.year)
    held = shared.together()
    edit = change(shared.ana, shared.block(1, "art"), uses=((lab.pk, 1),))
    assert (edit.change.batch, edit.elsewhere) == (None, ())
    assert [rooms_uses(shared, n) for n in range(3)] == [[], [lab.pk], []]
    change(shared.ana, shared.block(0, "art"), end=590)
    assert [rooms_uses(shared, n) for n in range(3)] == [[], [lab.pk], []]
    assert shared.together() != held


def test_the_block_must_be_as_it_was_seen(shared: Rooms) -> None:
    seen = shared.block(0, "art").revision
    change(shared.ana, shared.block(1, "art"), end=590)
    with transaction.atomic(), pytest.raises(Stale):
        held = block_for_editing(shared.ana, shared.block(0, "art").pk)
        weeks.remove_block(held, member=shared.ana, revision=seen)


def test_a_team_block_is_not_edited_but_as_access_gives_it(shared: Rooms) -> None:
    block = shared.block(0, "art")
    with transaction.atomic(), pytest.raises(RuntimeError):
        weeks.remove_block(block, member=shared.ana, revision=block.revision)


def test_only_who_may_edit_all_may_change_it_and_anybody_may_step_out(shared: Rooms) -> None:
    Team.objects.update(edits_together=False)
    art = shared.block(0, "art")
    with pytest.raises(RuleBroken, match="Room14 and Room15 hold this block too and are not yours to change: ask the"):
        move(shared.ana, art, "tue", 600, 640)
    with pytest.raises(Denied):
        step_out(shared.ana, shared.block(1, "art"))
    step_out(shared.ana, shared.block(0, "art"))
    move(shared.ana, shared.block(0, "art"), "tue", 600, 640)
    assert shared.times()[1:] == [[("tue", 540, 580)]] * 2


def test_who_may_edit_only_their_own_takes_a_team_block_and_makes_none(rooms: Rooms) -> None:
    share(rooms.ana, rooms.block(0, "art"), rooms.weeks[1])
    make.add(rooms.weeks[1], rooms.ana, ("wed", "09:00", "09:40", "pe"))
    Team.objects.update(edits_together=False)
    nora = make.make_teacher(rooms.weeks[2].classroom, "Nora")
    share(nora, rooms.block(0, "art"), rooms.weeks[2])
    assert rooms.times() == [[("tue", 540, 580)]] * 3
    with pytest.raises(Denied):
        share(nora, rooms.block(1, "pe"), rooms.weeks[2])
    stranger = make.make_teacher(make.make_classroom(make.make_year("Another school")), "Stella")
    with pytest.raises(Http404):
        share(stranger, rooms.block(0, "art"), rooms.weeks[2])


def test_classrooms_of_other_teams_and_retired_ones_are_left_out(shared: Rooms) -> None:
    fifth = make.make_week(make.make_classroom(shared.year, "room31", ("5",)))
    with transaction.atomic():
        assert block_for_sharing(shared.ana, shared.block(0, "art").pk, [fifth.classroom_id]).weeks == []
    classrooms.retire_classroom(shared.weeks[2].classroom)
    move(shared.ana, shared.block(0, "art"), "tue", 600, 640)
    assert shared.times() == [[("tue", 600, 640)], [("tue", 600, 640)], [("tue", 540, 580)]]


def test_a_classroom_that_goes_to_another_team_keeps_its_block_as_its_own(shared: Rooms) -> None:
    room = shared.weeks[2].classroom
    team = Team.objects.create(year=shared.year, key="mixed", name="Mixed", grades=["4"])
    classrooms.change_classroom(room, classrooms.ClassroomToBe(team, room.name, room.grades))
    assert shared.together()[2] == set()
    move(shared.ana, shared.block(0, "art"), "tue", 600, 640)
    assert shared.times() == [[("tue", 600, 640)], [("tue", 600, 640)], [("tue", 540, 580)]]


# Versions and drafts


@pytest.fixture
def on_the_day(monkeypatch: pytest.MonkeyPatch) -> Callable[[dt.date], None]:
    return lambda day: monkeypatch.setattr(School, "today", lambda _: day)


def later_version(rooms: Rooms, n: int) -> Week:
    with transaction.atomic():
        return start_week(week_for_editing(rooms.ana, rooms.weeks[n].pk), starts=JANUARY, member=rooms.ana)[0]


def test_versions_in_effect_together_change_together_and_others_stay(
    shared: Rooms, on_the_day: Callable[[dt.date], None]
) -> None:
    later = [later_version(shared, n) for n in (0, 1)]
    on_the_day(dt.date(2026, 9, 15))
    move(shared.ana, shared.block(0, "art"), "tue", 600, 640)
    assert shared.times() == [[("tue", 600, 640)]] * 3
    art = [Block.objects.get(column__week=week) for week in later]
    assert [block.start for block in art] == [540, 540]
    # Seen from before or from within, the versions from October stand beside each other and room 15's only week.
    assert [block.column.week for block in held_with(art[0])] == [later[1]]
    change(shared.ana, art[0], end=590)
    assert [Block.objects.get(column__week=week).end for week in later] == [590, 590]
    assert shared.times() == [[("tue", 600, 640)]] * 3


def test_of_a_version_that_is_over_the_last_day_counts(shared: Rooms, on_the_day: Callable[[dt.date], None]) -> None:
    later = [later_version(shared, n) for n in (0, 1)]
    on_the_day(dt.date(2026, 10, 20))
    assert [b.column.week for b in held_with(shared.block(0, "art"))] == shared.weeks[1:]
    assert [b.column.week for b in held_with(shared.block(2, "art"))] == later
    assert [b.column.week for b in held_with(Block.objects.get(column__week=later[1]))] == [later[0], shared.weeks[2]]
    kept = kept_elsewhere(shared.block(2, "art"), held_with(shared.block(2, "art")))
    assert {week.pk for week in kept} == {week.pk for week in shared.weeks[:2]}


def test_drafts_for_one_date_change_together_and_count_for_nothing(
    shared: Rooms, on_the_day: Callable[[dt.date], None]
) -> None:
    on_the_day(dt.date(2026, 9, 15))
    with transaction.atomic():
        drafted = [
            drafts.prepare_draft(week_for_editing(shared.ana, week.pk), starts=starts, member=shared.ana)
            for week, starts in zip(shared.weeks, (JANUARY, JANUARY, JANUARY + dt.timedelta(days=7)), strict=True)
        ]
    edit = change(shared.ana, Block.objects.get(column__week=drafted[0]), end=600)
    assert [Block.objects.get(column__week=week).end for week in drafted] == [600, 600, 580]
    assert shared.times() == [[("tue", 540, 580)]] * 3
    assert not edit.readings.pairs and not any(one.readings.pairs for one in edit.elsewhere)


def test_how_many_classrooms_a_change_shows_in_is_known_in_two_queries_more(
    shared: Rooms, django_assert_max_num_queries: Any
) -> None:
    step_out(shared.ana, shared.block(2, "art"))
    week = Week.objects.select_related("classroom__year__school").get(pk=shared.weeks[0].pk)
    (together,) = shared.together()[0]
    assert together is not None
    with django_assert_max_num_queries(2):
        assert rooms_holding(week, [together]) == {together: 2}


def test_both_weeks_of_a_cycle_have_team_blocks_of_their_own(shared: Rooms) -> None:
    day_kinds.set_cycle(shared.year, Cycle("alternating weeks"))
    assert shared.times() == [[("A-tue", 540, 580), ("B-tue", 540, 580)]] * 3
    change(shared.ana, shared.block(0, "art", column__day="B-tue"), end=600)
    assert shared.times() == [[("A-tue", 540, 580), ("B-tue", 540, 600)]] * 3


def test_a_copy_holds_the_same_team_block(shared: Rooms) -> None:
    copy = later_version(shared, 1)
    assert Block.objects.get(column__week=copy).together_id == shared.block(1, "art").together_id
    assert placing_of(Block.objects.get(column__week=copy)) == placing_of(shared.block(1, "art"))
