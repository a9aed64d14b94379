"""Clashes over what classes share: told with all parties, made and mended by edits, and against the rows themselves."""

import datetime as dt
from html import unescape
from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.access import block_for_editing, week_for_editing
from scheduling.models import Block, BlockUse, Column, SharedResource, Week
from scheduling.selectors.clash_words import clashes_told
from scheduling.selectors.edit_clashes import clashes_said
from scheduling.selectors.resource_uses import school_uses
from scheduling.selectors.year_words import year_words
from scheduling.services import drafts, undoing, weeks
from scheduling.services.week_edits import Edit
from teamroom.dates.models import CalendarDay, SchoolYear
from tests import factories as make
from tests.scheduling.sharing_rooms import Rooms, block_in, change, make_rooms, put
from tests.scheduling.team_rooms import move, share

pytestmark = pytest.mark.django_db

DASH = "\N{EN DASH}"


@pytest.fixture
def rooms(db: None) -> Rooms:
    return make_rooms()


def said(rooms: Rooms, edit: Edit) -> list[str]:
    return clashes_said(edit.change, year_words(fresh(rooms)))


def fresh(rooms: Rooms) -> SchoolYear:
    return SchoolYear.objects.select_related("school").get(pk=rooms.year.pk)


def told(rooms: Rooms, on: dt.date = make.FIRST_DAY) -> list[str]:
    return [clash.said for clash in clashes_told(school_uses(fresh(rooms), on))]


def test_two_classes_in_the_lab_at_once_are_told_by_both_their_names_and_times(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "science"), lab=1)
    edit = put(rooms, 14, ("mon", "09:30", "10:30", "science"), lab=1)
    assert told(rooms) == [
        f"Science lab, Monday 9:30{DASH}10:00: Room12 (9:00{DASH}10:00) and Room14 (9:30{DASH}10:30)"
    ]
    assert said(rooms, edit) == ["Science lab is also Room12’s from 9:30 to 10:00 on Monday."]


def test_moving_out_of_the_way_mends_it_and_says_so_and_undoing_brings_it_back(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "science"), lab=1)
    put(rooms, 14, ("mon", "09:30", "10:30", "science"), lab=1)
    block = block_in(rooms, 14)
    edit = change(rooms, block, start=600, end=660)
    assert told(rooms) == []
    assert said(rooms, edit) == ["Science lab is no longer wanted by more classes than can have it."]
    with transaction.atomic():
        week = Week.objects.select_related("classroom__year__school").get(pk=rooms.weeks[14].pk)
        back = undoing.undo(week, member=rooms.ada, change=edit.change.pk)
    assert said(rooms, back) == ["Science lab is also Room12’s from 9:30 to 10:00 on Monday."]


def test_an_edit_of_a_block_that_needs_nothing_asks_nothing(rooms: Rooms, django_assert_num_queries: Any) -> None:
    edit = put(rooms, 12, ("mon", "09:00", "10:00", "science"))
    words = year_words(fresh(rooms))
    with django_assert_num_queries(0):
        assert clashes_said(edit.change, words) == []


def test_no_longer_needing_it_and_being_removed_mend_it_too(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "science"), lab=1)
    put(rooms, 14, ("mon", "09:00", "10:00", "science"), lab=1)
    mended = "Science lab is no longer wanted by more classes than can have it."
    assert said(rooms, change(rooms, block_in(rooms, 14), uses=())) == [mended]
    assert said(rooms, change(rooms, block_in(rooms, 14), uses=((rooms.lab.pk, 1),))) != [mended]
    with transaction.atomic():
        held = block_for_editing(rooms.ada, block_in(rooms, 14).pk)
        removed = weeks.remove_block(held, member=rooms.ada, revision=held.revision)
    assert said(rooms, removed) == [mended]


def test_of_two_aides_the_third_is_one_too_many(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "math"), aides=2)
    edit = put(rooms, 14, ("mon", "09:00", "10:00", "math"), aides=1)
    assert told(rooms) == [f"Classroom aide, Monday 9:00{DASH}10:00, 3 wanted of 2: Room12 (2 of them) and Room14"]
    assert said(rooms, edit) == [
        "Classroom aide: 3 are wanted and there are 2, from 9:00 to 10:00 on Monday, with Room12 (2 of them)."
    ]


def test_clashes_alike_on_several_days_are_told_once(rooms: Rooms) -> None:
    for day in ("mon", "thu"):
        put(rooms, 12, (day, "09:00", "10:00", "science"), lab=1)
        edit = put(rooms, 14, (day, "09:00", "10:00", "science"), lab=1)
    assert told(rooms) == [f"Science lab, Mon and Thu 9:00{DASH}10:00: Room12 and Room14"]
    # Of the edited block alone.
    assert said(rooms, edit) == ["Science lab is also Room12’s from 9:00 to 10:00 on Thursday."]


def test_classes_of_other_teams_count_and_retired_ones_do_not(rooms: Rooms) -> None:
    fifth = make.make_classroom(rooms.year, "room31", ("5",))
    rooms.weeks[31] = make.make_week(fifth)
    put(rooms, 12, ("mon", "09:00", "10:00", "science"), lab=1)
    put(rooms, 31, ("mon", "09:00", "10:00", "science"), lab=1)
    assert told(rooms) == [f"Science lab, Monday 9:00{DASH}10:00: Room12 and Room31"]
    fifth.retired = True
    fifth.save()
    assert told(rooms) == []


def test_the_version_in_effect_counts_and_drafts_do_not(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "science"), lab=1)
    put(rooms, 14, ("mon", "09:00", "10:00", "science"), lab=1)
    later = make.FIRST_DAY + dt.timedelta(28)
    make.make_week(rooms.weeks[14].classroom, later)
    assert (len(told(rooms)), told(rooms, later)) == (1, [])
    week = Week.objects.select_related("classroom__year__school").get(pk=rooms.weeks[12].pk)
    with transaction.atomic():
        draft = drafts.prepare_draft(week, starts=later, member=rooms.ada, name="")
    rooms.weeks[12] = draft
    assert said(rooms, change(rooms, block_in(rooms, 12), start=510)) == []
    assert told(rooms, later) == []


def test_another_kind_of_day_is_told_only_where_it_is_another_matter(rooms: Rooms) -> None:
    minimum = rooms.year.day_kinds.get(key="minimum")
    CalendarDay.objects.create(year=rooms.year, date=dt.date(2026, 9, 14), kind=minimum)
    make.begin(rooms.year)
    put(rooms, 12, ("mon", "09:00", "10:00", "science"), lab=1)
    put(rooms, 14, ("mon", "12:00", "13:00", "science"), lab=1)
    assert told(rooms) == []
    # On minimum days room 14 has a column of its own, for whatever day.
    put(rooms, 14, ("", "09:30", "10:00", "science"), lab=1, kind="minimum")  # type: ignore[arg-type]  # a kind's key
    assert told(rooms) == [f"Science lab, Mon (minimum day) 9:30{DASH}10:00: Room12 (9:00{DASH}10:00) and Room14"]


def test_time_that_a_shorter_day_cuts_off_is_not_wanted(rooms: Rooms) -> None:
    minimum = rooms.year.day_kinds.get(key="minimum")
    CalendarDay.objects.create(year=rooms.year, date=dt.date(2026, 9, 14), kind=minimum)
    make.begin(rooms.year)
    for room in (12, 14):
        put(rooms, room, ("mon", "13:00", "14:00", "science"), lab=1)
    (clash,) = clashes_told(school_uses(fresh(rooms), make.FIRST_DAY))
    assert clash.days == (("mon", "regular"),)


blocks = st.tuples(
    st.sampled_from((12, 14, 15)),
    st.sampled_from(("mon", "tue", "")),
    st.sampled_from(("regular", "minimum")),
    st.integers(16, 27),
    st.integers(1, 4),
    st.integers(0, 1),
    st.integers(0, 2),
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(blocks, max_size=10), st.randoms(use_true_random=False))
def test_the_schools_uses_are_those_of_a_naive_reading_of_the_rows(some: list[Any], random: Any) -> None:
    """Minute by minute: the block in the column of day and kind, else the kind's own, else the usual one, cut."""
    with transaction.atomic():
        rooms = make_rooms(12, 14, 15, name=f"School {random.random()}")
        held: dict[tuple[int, str, str], set[int]] = {}
        for room, day, kind, start, length, lab, aides in some:
            taken = held.setdefault((room, day, kind), set())
            minutes = set(range(start * 30, (start + length) * 30))
            if (not day and kind == "regular") or taken & minutes:
                continue
            taken |= minutes
            row = rooms.year.day_kinds.get(key=kind)
            column, _ = Column.objects.get_or_create(week=rooms.weeks[room], day=day, kind=row)
            activity = rooms.year.activities.get(key="science")
            block = Block.objects.create(column=column, start=start * 30, end=(start + length) * 30, activity=activity)
            for resource, amount in ((rooms.lab, lab), (rooms.aides, aides)):
                if amount:
                    BlockUse.objects.create(block=block, resource=resource, amount=amount)
        uses = school_uses(fresh(rooms), make.FIRST_DAY)
        for resource in (rooms.lab, rooms.aides):
            for day, kind in (("mon", "regular"), ("mon", "minimum"), ("tue", "minimum"), ("wed", "regular")):
                got = [0] * 1440
                for use in uses.uses(resource.pk, day, kind):
                    for minute in range(use.start, use.end):
                        got[minute] += use.amount
                assert got == naive(rooms, resource, day, kind)
        transaction.set_rollback(True)


def naive(rooms: Rooms, resource: SharedResource, day: str, kind: str) -> list[int]:
    wanted = [0] * 1440
    for week in rooms.weeks.values():
        columns = {(one.day, one.kind.key): one for one in Column.objects.filter(week=week).select_related("kind")}
        places = [(day, kind), ("", kind), (day, "regular")]
        place = next((place for place in places if place in columns), None)
        if place is None:
            continue
        plain = place[1] != kind
        for use in BlockUse.objects.filter(block__column=columns[place], resource=resource).select_related("block"):
            for minute in range(use.block.start, use.block.end):
                # A minimum day is from 8:00 to 12:30; only a regular column is cut to it.
                if not plain or 480 <= minute < 750:
                    wanted[minute] += use.amount
    return wanted


def test_a_team_block_moved_in_one_room_tells_the_clash_that_it_makes_in_another() -> None:
    rooms = make_rooms(12, 14, 15)
    put(rooms, 12, ("mon", "09:00", "10:00", "science"))
    share(rooms.ada, block_in(rooms, 12), rooms.weeks[14])
    change(rooms, block_in(rooms, 14), uses=((rooms.lab.pk, 1),))
    put(rooms, 15, ("mon", "10:00", "11:00", "science"), lab=1)
    edit = move(rooms.ada, block_in(rooms, 12), "mon", 630, 690)
    assert said(rooms, edit) == [
        f"Science lab is wanted by Room14 (10:30{DASH}11:30) and Room15 (10:00{DASH}11:00) "
        "from 10:30 to 11:00 on Monday."
    ]
    back = move(rooms.ada, block_in(rooms, 12), "mon", 540, 600)
    assert said(rooms, back) == ["Science lab is no longer wanted by more classes than can have it."]


def test_restoring_and_putting_a_draft_in_effect_tell_the_clash_that_they_make(rooms: Rooms, client: Client) -> None:
    client.force_login(rooms.ada)
    put(rooms, 12, ("mon", "09:00", "10:00", "science"), lab=1)
    put(rooms, 14, ("mon", "09:30", "10:30", "science"), lab=1)
    theirs = block_in(rooms, 14).column.week
    with transaction.atomic():
        week = week_for_editing(rooms.ada, theirs.pk)
        draft = drafts.prepare_draft(week, starts=dt.date(2026, 10, 5), member=rooms.ada)
    change(rooms, block_in(rooms, 14), start=600, end=660)
    theirs.refresh_from_db()
    sentence = "Science lab is also Room12’s from 9:30 to 10:00 on Monday."
    restored = client.post(f"/weeks/{theirs.pk}/restore/", {"revision": theirs.revision - 1, "seen": theirs.revision})
    assert sentence in unescape(client.get(restored["Location"]).text)
    seen = drafts.mark_of(Week.objects.select_related("classroom__year").get(pk=draft.pk))
    turned = client.post(f"/weeks/{draft.pk}/put-in-effect/", {"seen": seen})
    assert sentence in unescape(client.get(turned["Location"]).text)
