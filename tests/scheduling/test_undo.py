"""Taking back one's own last edits and doing them again: a stack for each person."""

import uuid
from collections.abc import Callable

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from scheduling.access import block_for_editing, week_for_editing
from scheduling.models import Block, Reading, Week, WeekChange
from scheduling.services import undoing, weeks
from scheduling.services.block_writing import placing_of
from scheduling.services.restoring import restore
from scheduling.services.week_edits import By, Edit, follow_up, write_change
from teamroom.common.errors import RuleBroken, Stale
from teamroom.members.models import Member
from tests import factories as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def week() -> Week:
    classroom = make.make_classroom(make.make_year())
    make.make_rule(classroom.year, "math", {"pool": {"of": ["math"]}, "at_least": 60})
    return make.make_week(classroom)


@pytest.fixture
def ana(week: Week) -> Member:
    return make.make_teacher(week.classroom, "Ana")


@pytest.fixture
def ben(week: Week) -> Member:
    return make.make_teacher(week.classroom, "Ben")


@transaction.atomic
def change(member: Member, activity: str, **changed: object) -> Edit:
    pk = Block.objects.get(activity__key=activity).pk
    held = block_for_editing(member, pk)
    return weeks.change_block(held, member=member, revision=held.revision, placing=placing_of(held, **changed))


@transaction.atomic
def remove(member: Member, activity: str) -> Edit:
    held = block_for_editing(member, Block.objects.get(activity__key=activity).pk)
    return weeks.remove_block(held, member=member, revision=held.revision)


@transaction.atomic
def undo(week: Week, member: Member, **more: object) -> Edit:
    return undoing.undo(week_for_editing(member, week.pk), member=member, **more)  # type: ignore[arg-type]  # passed on


@transaction.atomic
def redo(week: Week, member: Member, **more: object) -> Edit:
    return undoing.redo(week_for_editing(member, week.pk), member=member, **more)  # type: ignore[arg-type]  # passed on


def ends(*of: str) -> list[int]:
    return [Block.objects.get(activity__key=key).end for key in of]


def test_undo_undo_redo_redo_undo_walk_a_stack(week: Week, ana: Member) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    for end in (545, 550, 555):
        change(ana, "math", end=end)
    walked = []
    for deed in (undo, undo, redo, redo, undo, redo, undo, undo, undo):
        deed(week, ana)
        walked += ends("math")
    assert walked == [550, 545, 550, 555, 550, 555, 550, 545, 540]
    with pytest.raises(RuleBroken, match="nothing of yours left to undo"):
        undo(week, ana)
        undo(week, ana)
    assert WeekChange.objects.filter(deed="redo").count() == 3


def test_a_redoing_is_the_undoing_of_an_undoing_and_brings_the_minutes_with_it(week: Week, ana: Member) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    back, again = undo(week, ana), redo(week, ana)
    assert (again.change.deed, again.change.undoes) == ("redo", back.change)
    assert Reading.objects.get(rule__key="math", part=0).planned == 60
    assert again.change.summary == "Did again: Added math, mon 08:00 to 09:00"


def test_a_fresh_edit_ends_what_could_be_done_again(week: Week, ana: Member) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"), ("mon", "09:00", "10:00", "art"))
    undo(week, ana)
    make.add(week, ana, ("mon", "10:00", "11:00", "science"))
    with pytest.raises(RuleBroken, match="nothing of yours to do again"):
        redo(week, ana)
    undo(week, ana)
    undo(week, ana)
    assert not Block.objects.exists()


def test_each_person_takes_back_their_own(week: Week, ana: Member, ben: Member) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    make.add(week, ben, ("mon", "09:00", "10:00", "art"))
    undo(week, ana)
    assert [block.activity.key for block in Block.objects.all()] == ["art"]
    assert undoing.last_to_redo(week, ben) is None
    undo(week, ben)
    redo(week, ana)
    assert [block.activity.key for block in Block.objects.all()] == ["math"]


def test_what_a_colleague_changed_since_is_not_taken_back_and_named(week: Week, ana: Member, ben: Member) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    change(ana, "math", end=550)
    change(ben, "math", why="the aide is here")
    with pytest.raises(RuleBroken, match=r"^This cannot be taken back: Ben changed Math on \w{3} \d+ \w{3}, .*, after"):
        undo(week, ana)
    remove(ben, "math")
    with pytest.raises(RuleBroken, match="Ben removed Math on"):
        undo(week, ana)
    assert WeekChange.objects.count() == 4


def test_a_removal_is_not_taken_back_where_somebody_took_the_time(week: Week, ana: Member, ben: Member) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    remove(ana, "math")
    make.add(week, ben, ("mon", "08:30", "09:10", "art"))
    with pytest.raises(RuleBroken, match="This cannot be taken back: Art now takes 8:30 to 9:10"):
        undo(week, ana)
    undo(week, ben)
    undo(week, ana)
    assert ends("math") == [540]


def test_a_removal_is_not_taken_back_once_somebody_else_brought_the_block_back(
    week: Week, ana: Member, ben: Member
) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    remove(ana, "math")
    with transaction.atomic():
        restore(week_for_editing(ben, week.pk), member=ben, revision=2)
    change(ben, "math", start=600, end=660)
    with pytest.raises(RuleBroken, match="Ben changed Math"):
        undo(week, ana)
    assert ends("math") == [660]


def test_the_page_takes_back_only_what_it_showed(week: Week, ana: Member) -> None:
    (first,) = make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    make.add(week, ana, ("mon", "09:00", "10:00", "art"))
    with pytest.raises(Stale, match="Your latest edit is now another: Added art"):
        undo(week, ana, change=first.change.pk)
    undo(week, ana)
    with pytest.raises(Stale):
        redo(week, ana, change=first.change.pk)


@pytest.mark.parametrize("how", ["undo", "redo"])
def test_a_page_that_is_behind_is_answered_with_a_conflict(week: Week, ana: Member, how: str, client: Client) -> None:
    client.force_login(ana)
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    undo(week, ana) if how == "redo" else None
    url = reverse(f"scheduling:week-{how}", args=[week.pk])
    answer = client.post(url, {"change": "0"}, headers={"HX-Request": "true"})
    assert (answer.status_code, "now another" in answer.content.decode()) == (409, True)
    page = client.get(reverse("scheduling:week", args=[week.classroom_id])).content.decode()
    assert (url in page, f"{url[:-5]}{'undo' if how == 'redo' else 'redo'}/" in page) == (True, False)


def in_two_weeks(ana: Member, first: Week, second: Week) -> uuid.UUID:
    """The same block placed in two classrooms in one deed."""
    batch = uuid.uuid4()
    for week in (first, second):
        placing = make.placing(week.classroom.year, "tue", "10:00", "11:00", "math")
        write_change(week, By(ana, batch=batch), "add", "Added art", put=[(None, placing)])
    follow_up([first, second])
    return batch


@pytest.fixture
def other(week: Week, ana: Member) -> Week:
    room = make.make_classroom(week.classroom.year, "room14")
    room.teachers.add(ana)
    return make.make_week(room)


def held(ana: Member, *those: Week) -> list[Week]:
    return [week_for_editing(ana, one.pk) for one in those]


def test_an_edit_of_several_weeks_is_taken_back_and_done_again_in_all(week: Week, other: Week, ana: Member) -> None:
    with transaction.atomic():
        in_two_weeks(ana, *held(ana, week, other))
    edit = undoing.last_to_undo(week, ana)
    assert edit is not None and undoing.weeks_of(week.pk, edit.pk, ana) == [week.pk, other.pk]
    with transaction.atomic():
        first, second = held(ana, week, other)
        done = undoing.undo(first, member=ana, held=[first, second])
    assert not Block.objects.exists()
    assert {row.classroom_id for _, row in done.readings.pairs if row is not None} == {week.classroom_id}
    assert WeekChange.objects.filter(batch=done.change.batch, deed="undo").count() == 2
    with transaction.atomic():
        first, second = held(ana, week, other)
        undoing.redo(second, member=ana, held=[first, second])
    assert Block.objects.filter(start=600).count() == 2


def test_an_edit_of_several_weeks_is_not_taken_back_in_one_alone(
    week: Week, other: Week, ana: Member, ben: Member
) -> None:
    with transaction.atomic():
        in_two_weeks(ana, *held(ana, week, other))
    block = Block.objects.get(column__week=week)
    with transaction.atomic():
        taken = block_for_editing(ben, block.pk)
        weeks.remove_block(taken, member=ben, revision=taken.revision)

    def attempts() -> list[Callable[[], Edit]]:
        first, second = held(ana, week, other)
        return [
            lambda: undoing.undo(second, member=ana, held=[first, second]),
            lambda: undoing.undo(second, member=ana),
        ]

    for place, refusal in enumerate((RuleBroken, Stale)):
        with pytest.raises(refusal), transaction.atomic():
            attempts()[place]()
    assert Block.objects.get().column.week_id == other.pk


def test_the_page_takes_an_edit_of_several_weeks_back_in_all(
    week: Week, other: Week, ana: Member, ben: Member, client: Client
) -> None:
    with transaction.atomic():
        in_two_weeks(ana, *held(ana, week, other))
    edit = undoing.last_to_undo(other, ana)
    assert edit is not None
    client.force_login(ana)
    answer = client.post(reverse("scheduling:week-undo", args=[other.pk]), {"change": edit.pk})
    assert answer.status_code == 302 and not Block.objects.exists()
    assert undoing.weeks_of(week.pk, edit.pk, ben) == []


def test_who_may_no_longer_edit_one_of_the_classrooms_takes_nothing_back(
    week: Week, other: Week, ana: Member, client: Client
) -> None:
    with transaction.atomic():
        in_two_weeks(ana, *held(ana, week, other))
    other.classroom.teachers.remove(ana)
    edit = undoing.last_to_undo(week, ana)
    assert edit is not None
    client.force_login(ana)
    assert client.post(reverse("scheduling:week-undo", args=[week.pk]), {"change": edit.pk}).status_code == 403
    assert Block.objects.count() == 2
