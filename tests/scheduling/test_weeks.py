"""Edits of a week: what they write, record, refuse, undo, and what they leave alone."""

import datetime as dt

import pytest
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import Http404

from scheduling.access import block_for_editing, week_for_editing
from scheduling.minutes.definitions import rule_from
from scheduling.models import Block, Reading, Week, WeekChange
from scheduling.services import undoing, week_versions, weeks
from scheduling.services.block_writing import placing_of
from scheduling.services.compliance import recompute
from scheduling.services.week_edits import Edit
from teamroom.common.errors import RuleBroken, Stale
from teamroom.members.models import Member
from tests import factories as make

pytestmark = pytest.mark.django_db

MATH = {"pool": {"of": ["math"]}, "at_least": 60, "window": "week"}
SCIENCE = {"pool": {"of": ["science"]}, "at_least": 40, "window": "week"}


@pytest.fixture
def week() -> Week:
    year = make.make_year()
    classroom = make.make_classroom(year)
    make.make_rule(year, "math", MATH)
    make.make_rule(year, "science", SCIENCE)
    return make.make_week(classroom)


@pytest.fixture
def owner(week: Week) -> Member:
    return make.make_teacher(week.classroom)


@pytest.fixture
def block(week: Week, owner: Member) -> Block:
    make.add(week, owner, ("mon", "08:00", "09:00", "math"))
    return Block.objects.get()


def planned(key: str) -> object:
    return Reading.objects.get(rule__key=key, part=0).planned


@transaction.atomic
def edit(member: Member, block: Block, **changed: object) -> Edit:
    held = block_for_editing(member, block.pk)
    return weeks.change_block(held, member=member, revision=block.revision, placing=placing_of(held, **changed))


def test_adding_a_block_changes_the_readings_of_its_activity_only(week: Week, owner: Member) -> None:
    (added,) = make.add(week, owner, ("mon", "08:00", "09:00", "math"))
    changed = {pair[1].rule.key for pair in added.readings.pairs if pair[1] is not None}
    assert changed == {"math"}
    assert (planned("math"), planned("science")) == (60, 0)


def test_an_edit_leaves_every_other_classroom_alone(week: Week, owner: Member, block: Block) -> None:
    other = make.make_classroom(week.classroom.year, "room14")
    recompute(make.begin(week.classroom.year))
    before = list(Reading.objects.filter(classroom=other).values())
    edit(owner, block, end=block.end + 15)
    assert list(Reading.objects.filter(classroom=other).values()) == before


def test_moving_a_block_into_another_names_the_block_in_the_way(week: Week, owner: Member, block: Block) -> None:
    make.add(week, owner, ("mon", "09:00", "09:30", "science"))
    with pytest.raises(RuleBroken, match="Science already takes 9:00 to 9:30"):
        edit(owner, block, end=block.end + 5)
    block.refresh_from_db()
    assert block.end == 540


@pytest.mark.parametrize(
    ("changed", "field", "sentence"),
    [
        ({"end": 480}, "end", "Give the block an end after 8:00"),
        ({"start": 600}, "end", "Give the block an end after 10:00"),
        ({"end": 1445}, "end", "by 24:00"),
        ({"day": "someday"}, "day", "a day of this school's cycle"),
        ({"activity": 0}, "activity", "this year's activities"),
    ],
)
def test_a_block_that_cannot_be_is_refused_at_its_field(
    owner: Member, block: Block, changed: dict[str, object], field: str, sentence: str
) -> None:
    with pytest.raises(RuleBroken, match=sentence) as refused:
        edit(owner, block, **changed)
    assert refused.value.field == field
    assert WeekChange.objects.count() == 1


def test_credits_beyond_the_length_are_refused(owner: Member, block: Block) -> None:
    with pytest.raises(RuleBroken, match="come to 70 minutes and there are 60"):
        edit(owner, block, credits=((block.activity_id, 70),))


def test_the_second_of_two_edits_of_one_block_is_told_and_overwrites_nothing(owner: Member, block: Block) -> None:
    edit(owner, block, end=550)
    with pytest.raises(Stale, match="it now takes 8:00 to 9:10"):
        edit(owner, block, end=530)
    assert Block.objects.get().end == 550


def test_undoing_a_removal_brings_the_same_block_back(owner: Member, block: Block) -> None:
    with transaction.atomic():
        weeks.remove_block(block_for_editing(owner, block.pk), member=owner, revision=block.revision)
    assert planned("math") == 0
    with transaction.atomic():
        undoing.undo(week_for_editing(owner, block.column.week_id), member=owner)
    assert Block.objects.get().pk == block.pk
    assert planned("math") == 60


def test_undoing_again_and_again_walks_back_to_the_empty_week(week: Week, owner: Member, block: Block) -> None:
    edit(owner, block, why="before the aide leaves")
    for _ in range(2):
        with transaction.atomic():
            undoing.undo(week_for_editing(owner, week.pk), member=owner)
    assert not Block.objects.exists()
    with pytest.raises(RuleBroken, match="nothing of yours left to undo"), transaction.atomic():
        undoing.undo(week_for_editing(owner, week.pk), member=owner)


def test_splitting_an_integrated_block_loses_no_credited_minute(week: Week, owner: Member, block: Block) -> None:
    ids = {activity.key: activity.pk for activity in week.classroom.year.activities.all()}
    edit(owner, block, credits=((ids["math"], 31), (ids["science"], 20)))
    block.refresh_from_db()
    with transaction.atomic():
        weeks.split_block(block_for_editing(owner, block.pk), member=owner, revision=block.revision, at=505)
    halves = Block.objects.order_by("start")
    credited = [sum(credit.minutes for credit in half.credits.all()) for half in halves]
    assert [half.end - half.start for half in halves] == [25, 35]
    assert (credited, planned("math"), planned("science")) == ([21, 30], 31, 20)


def test_a_later_version_leaves_the_weeks_before_it_as_they_were(week: Week, owner: Member, block: Block) -> None:
    with transaction.atomic():
        later, _ = week_versions.start_week(week_for_editing(owner, week.pk), starts=dt.date(2026, 10, 5))
    copied = Block.objects.get(column__week=later)
    edit(owner, copied, end=copied.end + 20)
    year_long = rule_from({**MATH, "window": "year"}, key="x", grades=frozenset({"4"}))
    assert year_long.parts[0].window.kind == "year"
    make.make_rule(week.classroom.year, "math_year", {**MATH, "window": "year"})
    # Four Mondays of 60 minutes, then four of 80.
    assert planned("math_year") == 4 * 60 + 4 * 80


def test_a_reader_is_refused_and_a_stranger_finds_nothing(week: Week, block: Block) -> None:
    guest = make.make_teammate(week.classroom.team, "Gus", role="guest")
    with pytest.raises(PermissionDenied):
        week_for_editing(guest, week.pk)
    with pytest.raises(Http404):
        block_for_editing(make.make_member("Stranger"), block.pk)


def test_undo_takes_back_only_the_edit_that_was_seen(week: Week, owner: Member, block: Block) -> None:
    seen = undoing.last_to_undo(week, owner)
    make.add(week, owner, ("tue", "08:00", "09:00", "science"))
    with pytest.raises(Stale, match="Your latest edit is now another: Added science"), transaction.atomic():
        undoing.undo(week_for_editing(owner, week.pk), member=owner, change=seen.pk if seen else 0)
    assert Block.objects.count() == 2


def test_a_reason_longer_than_a_school_file_carries_is_refused_at_its_field(owner: Member, block: Block) -> None:
    with pytest.raises(RuleBroken, match="10,000 letters or fewer") as refused:
        edit(owner, block, why="x" * 10_001)
    assert refused.value.field == "why"
    edit(owner, block, why="x" * 10_000)


def test_a_reason_with_space_around_it_can_be_undone_too(week: Week, owner: Member, block: Block) -> None:
    edit(owner, block, why="  the aide is here  ")
    assert Block.objects.get().why == "the aide is here"
    with transaction.atomic():
        undoing.undo(week_for_editing(owner, week.pk), member=owner)
    assert Block.objects.get().why == ""
