"""Putting a week back as it was: shown first, one change, undoable, refused where the school has moved on."""

import datetime as dt
import html
import re

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from scheduling.access import block_for_editing, week_for_editing
from scheduling.models import Block, BlockUse, Reading, SharedResource, TeamBlock, Week, WeekChange
from scheduling.services import undoing, weeks
from scheduling.services.block_writing import placing_of
from scheduling.services.day_kinds import set_cycle
from scheduling.services.restoring import rehearse_restoring, restore, state_at
from scheduling.services.week_edits import Edit
from teamroom.common.errors import RuleBroken, Stale
from teamroom.dates.calendar_maths import Cycle
from teamroom.members.models import Member
from tests import factories as make
from tests.together.checking import faults, standing

pytestmark = pytest.mark.django_db

SCIENCE = {"pool": {"of": ["science"]}, "at_least": 90, "window": "week"}


@pytest.fixture
def week() -> Week:
    classroom = make.make_classroom(make.make_year())
    make.make_rule(classroom.year, "science", SCIENCE, name="Science in the week")
    return make.make_week(classroom)


@pytest.fixture
def ana(week: Week) -> Member:
    return make.make_teacher(week.classroom, "Ana")


@pytest.fixture
def planned(week: Week, ana: Member) -> Week:
    """Revision 3 meets the rule: science on Monday and Tuesday. At 6 Monday's is art, and Wednesday has reading."""
    make.add(week, ana, ("mon", "10:00", "10:45", "science"), ("tue", "10:00", "10:45", "science"))
    change(ana, "mon", activity="art")
    change(ana, "tue", end=650)
    make.add(week, ana, ("wed", "08:00", "09:00", "reading"))
    week.refresh_from_db()
    return week


@transaction.atomic
def change(member: Member, day: str, **changed: object) -> Edit:
    held = block_for_editing(member, Block.objects.get(column__day=day).pk)
    if "activity" in changed:
        year = held.column.week.classroom.year
        changed["activity"] = year.activities.get(key=changed["activity"]).pk
    return weeks.change_block(held, member=member, revision=held.revision, placing=placing_of(held, **changed))


@transaction.atomic
def put_back(week: Week, member: Member, revision: int, **more: object) -> Edit:
    held = week_for_editing(member, week.pk)
    return restore(held, member=member, revision=revision, **more)  # type: ignore[arg-type]  # passed on


def status() -> str:
    return Reading.objects.get(rule__key="science", part=None).status


def times() -> list[tuple[str, str, int, int]]:
    rows = Block.objects.order_by("column__day").values_list("column__day", "activity__key", "start", "end")
    return list(rows)


def test_a_week_comes_back_block_for_block_with_its_minutes(planned: Week, ana: Member) -> None:
    assert status() == "short"
    was = state_at(planned, 3)
    edit = put_back(planned, ana, 3, reason="Science was lost")
    assert times() == [("mon", "science", 600, 645), ("tue", "science", 600, 645)]
    assert standing(planned) == was
    assert status() == "met"
    assert (edit.change.deed, edit.change.revision, edit.change.reason) == ("restore", 7, "Science was lost")
    assert WeekChange.objects.filter(week=planned).count() == 6
    assert faults(planned.classroom.year) == []


def test_putting_back_is_undone_and_done_again_like_any_edit(planned: Week, ana: Member) -> None:
    before = times()
    put_back(planned, ana, 3)
    after = times()
    with transaction.atomic():
        undoing.undo(week_for_editing(ana, planned.pk), member=ana)
    assert (times(), status()) == (before, "short")
    with transaction.atomic():
        undoing.redo(week_for_editing(ana, planned.pk), member=ana)
    assert (times(), status()) == (after, "met")
    assert faults(planned.classroom.year) == []


def test_a_week_can_be_put_back_to_its_empty_beginning_and_forth(planned: Week, ana: Member) -> None:
    before = times()
    put_back(planned, ana, 1)
    assert times() == []
    put_back(planned, ana, 6)
    assert times() == before


def test_a_week_that_is_so_already_is_left_alone(planned: Week, ana: Member) -> None:
    with pytest.raises(RuleBroken, match="nothing to put back"):
        put_back(planned, ana, 6)
    with pytest.raises(RuleBroken, match="no such moment"):
        put_back(planned, ana, 9)


def test_a_week_that_was_edited_meanwhile_is_looked_at_again(planned: Week, ana: Member) -> None:
    change(ana, "wed", end=600)
    with pytest.raises(Stale, match="in the meantime"):
        put_back(planned, ana, 3, seen=6)


def test_what_the_school_no_longer_has_is_said(planned: Week, ana: Member) -> None:
    year = planned.classroom.year
    change(ana, "tue", activity="math")
    Reading.objects.all().delete()
    year.rules.all().delete()
    year.activities.get(key="science").delete()
    make.begin(year)
    with pytest.raises(RuleBroken, match="This cannot be brought back: the school no longer has “science”"):
        put_back(planned, ana, 3)


def test_a_week_of_days_that_are_named_otherwise_now_is_not_put_back(planned: Week, ana: Member) -> None:
    with transaction.atomic():
        set_cycle(planned.classroom.year, Cycle("alternating weeks"))
    with pytest.raises(RuleBroken, match="the school’s days are named otherwise now, and Monday is none"):
        put_back(planned, ana, 3)


def test_what_is_shared_comes_back_and_is_missed_if_it_is_gone(week: Week, ana: Member) -> None:
    lab = SharedResource.objects.create(year=week.classroom.year, key="lab", name="Lab")
    make.begin(week.classroom.year)
    make.add(week, ana, ("mon", "10:00", "10:45", "science"))
    change(ana, "mon", uses=((lab.pk, 1),))
    change(ana, "mon", uses=())
    week.refresh_from_db()
    put_back(week, ana, 3)
    assert BlockUse.objects.get().resource == lab
    change(ana, "mon", uses=())
    lab.delete()
    make.begin(week.classroom.year)
    with pytest.raises(RuleBroken, match="no longer has “lab”"):
        put_back(week, ana, 3)


def held_with_the_team(week: Week, ana: Member, other_end: int) -> TeamBlock:
    """At revision 3 Monday's science is the team's, at 4 it has left; room 14 holds it until `other_end`."""
    together = TeamBlock.objects.create(team=week.classroom.team)
    room = make.make_classroom(week.classroom.year, "room14")
    room.teachers.add(ana)
    second = make.make_week(room)
    make.add(week, ana, ("mon", "10:00", "10:45", "science"))
    change(ana, "mon", together=together.pk)
    change(ana, "mon", together=None, start=620)
    placing = make.placing(
        room.year, "mon", "10:00", f"{other_end // 60}:{other_end % 60:02}", "science", together=together.pk
    )
    with transaction.atomic():
        weeks.add_block(week_for_editing(ana, second.pk), member=ana, placing=placing)
    week.refresh_from_db()
    return together


@pytest.mark.parametrize(("end", "gone", "together"), [(645, False, True), (650, False, False), (645, True, False)])
def test_a_block_is_the_teams_again_if_the_teams_is_still_the_same(
    week: Week, ana: Member, end: int, gone: bool, together: bool
) -> None:
    team_block = held_with_the_team(week, ana, end)
    if gone:
        Block.objects.exclude(column__week=week).delete()
        WeekChange.objects.exclude(week=week).delete()
        team_block.delete()
    put_back(week, ana, 3)
    block = Block.objects.get(column__week=week)
    assert (block.start, block.together_id) == (600, team_block.pk if together else None)


def test_a_rehearsal_shows_everything_and_leaves_nothing(planned: Week, ana: Member) -> None:
    before = times(), list(Reading.objects.order_by("pk").values()), WeekChange.objects.count()
    with transaction.atomic():
        held = week_for_editing(ana, planned.pk)
        found = rehearse_restoring(held, member=ana, revision=3)
        assert held.revision == 6
    assert (times(), list(Reading.objects.order_by("pk").values()), WeekChange.objects.count()) == before
    assert (len(found.now), len(found.then)) == (3, 2)
    verdicts = {
        change.row.rule_id: (change.before, change.after) for change in found.changes if change.row.part is None
    }
    ((was, now),) = verdicts.values()
    assert was is not None and now is not None
    assert (was.status, now.status) == ("short", "met")
    planned.refresh_from_db()
    assert planned.revision == 6


def asked(week: Week, member: Member, query: str) -> str:
    client = Client()
    client.force_login(member)
    answer = client.get(reverse("scheduling:week-restore", args=[week.pk]) + query)
    assert answer.status_code in (200, 422)
    return re.sub(r"\s+", " ", html.unescape(answer.content.decode()))


def test_the_page_says_what_would_change_and_what_it_does_to_the_minutes(planned: Week, ana: Member) -> None:
    shows = asked(planned, ana, "?revision=3")
    assert "1 block taken out, 2 blocks changed" in shows
    assert "Out: <b>Reading, Wed 8:00–9:00</b>" in shows
    assert "Changed: <b>Science, Mon 10:00–10:45</b>" in shows and "activity Art" in shows
    assert "1 rule comes right." in shows and "was short by" in shows
    assert "as Ana left it on" in shows
    assert times() == [("mon", "art", 600, 645), ("tue", "science", 600, 650), ("wed", "reading", 480, 540)]


def test_a_date_means_its_evening(planned: Week, ana: Member) -> None:
    for revision in range(2, 7):
        made = dt.datetime(2026, 10, revision, 20, tzinfo=dt.UTC)
        WeekChange.objects.filter(revision=revision).update(made_at=made)
    assert "as Ana left it on Sat 3 Oct" in asked(planned, ana, "?on=2026-10-03")
    assert "as it began" in asked(planned, ana, "?on=2026-09-01")
    assert "nothing to put back" in asked(planned, ana, "?on=2026-12-24")


@pytest.mark.parametrize(
    "query", ["", "?on=", "?on=soon", "?on=9999-12-31", "?revision=0", "?revision=99", "?revision=x"]
)
def test_an_address_without_a_moment_asks_for_one(planned: Week, ana: Member, query: str) -> None:
    assert "See what would change" in asked(planned, ana, query)


def test_sent_from_the_page_it_is_done_and_said(planned: Week, ana: Member, client: Client) -> None:
    client.force_login(ana)
    url = reverse("scheduling:week-restore", args=[planned.pk])
    answer = client.post(url, {"revision": "3", "seen": "6", "reason": "Lost"}, follow=True)
    shows = html.unescape(answer.content.decode())
    assert "Put the week back as Ana left it on" in shows and "Science in the week is now met." in shows
    assert WeekChange.objects.get(revision=7).reason == "Lost"
    history = html.unescape(client.get(reverse("scheduling:week-history", args=[planned.pk])).content.decode())
    assert "Put the week back as Ana left it on" in history and "3 blocks" in history


def test_a_page_that_is_behind_is_shown_anew_with_what_was_typed(planned: Week, ana: Member, client: Client) -> None:
    client.force_login(ana)
    url = reverse("scheduling:week-restore", args=[planned.pk])
    change(ana, "wed", end=600)
    answer = client.post(url, {"revision": "3", "seen": "6", "reason": "Lost science"})
    shows = html.unescape(answer.content.decode())
    assert answer.status_code == 409
    assert "Somebody edited the week in the meantime" in shows and "Lost science" in shows
    assert 'name="seen" value="7"' in shows
    assert client.post(url, {"revision": "0"}).status_code == 422
