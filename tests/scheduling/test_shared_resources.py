"""What classes share: made, changed and removed by the administrator, needed by blocks; clashes with all parties."""

import datetime as dt
from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.access import block_for_editing
from scheduling.models import Block, BlockUse, Column, SharedResource, Week
from scheduling.selectors.clash_words import clashes_told
from scheduling.selectors.edit_clashes import clashes_said
from scheduling.selectors.resource_uses import school_uses
from scheduling.selectors.shared_resources import resource_lines, resource_week
from scheduling.selectors.year_words import year_words
from scheduling.services import drafts, undoing, weeks
from scheduling.services import shared_resources as services
from scheduling.services.week_edits import Edit
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import CalendarDay, SchoolYear
from teamroom.members.models import Member
from teamroom.members.selectors.readable import Readable
from tests import factories as make
from tests.scheduling.sharing_rooms import Rooms, block_in, change, make_rooms, put
from tests.scheduling.team_rooms import move, share

pytestmark = pytest.mark.django_db

DASH = "\N{EN DASH}"
ALL = Readable(True, frozenset(), frozenset())


@pytest.fixture
def rooms(db: None) -> Rooms:
    return make_rooms()


def client_of(member: Member) -> Client:
    client = Client()
    client.force_login(member)
    return client


def said(rooms: Rooms, edit: Edit) -> list[str]:
    return clashes_said(edit.change, year_words(fresh(rooms)))


def fresh(rooms: Rooms) -> SchoolYear:
    return SchoolYear.objects.select_related("school").get(pk=rooms.year.pk)


def told(rooms: Rooms, on: dt.date = make.FIRST_DAY) -> list[str]:
    return [clash.said for clash in clashes_told(school_uses(fresh(rooms), on))]


# Made, changed, taken away


def test_a_resource_is_made_by_its_name_changed_and_taken_away_on_the_screens(rooms: Rooms) -> None:
    ada, year = client_of(rooms.ada), rooms.year.pk
    page = ada.post(
        reverse("scheduling:shared-resource-add", args=[year]), {"name": " Laptop  cart", "capacity": "1"}, follow=True
    )
    assert "Laptop cart: one class at a time." in page.content.decode()
    cart = SharedResource.objects.get(key="laptop-cart")
    at = [year, cart.pk]
    page = ada.post(
        reverse("scheduling:shared-resource-change", args=at), {"name": "Laptop carts", "capacity": "3"}, follow=True
    )
    assert "Laptop carts: 3 classes at once." in page.content.decode()
    cart.refresh_from_db()
    assert (cart.key, cart.capacity) == ("laptop-cart", 3)
    page = ada.post(reverse("scheduling:shared-resource-remove", args=at), follow=True)
    assert "Laptop carts is gone" in page.content.decode()
    assert not SharedResource.objects.filter(pk=cart.pk).exists()


@pytest.mark.parametrize(
    ("name", "capacity", "field", "sentence"),
    [
        ("", 1, "name", "Give it a name"),
        ("science LAB", 1, "name", "Science lab|science LAB is there already"),
        ("x" * 121, 1, "name", "at most 120"),
        ("Hall", 0, "capacity", "1 to 99"),
        ("Hall", 100, "capacity", "1 to 99"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    rooms: Rooms, name: str, capacity: int, field: str, sentence: str
) -> None:
    with pytest.raises(RuleBroken, match=sentence) as refused:
        services.add_resource(rooms.year, name=name, capacity=capacity)
    assert refused.value.field == field
    page = client_of(rooms.ada).post(
        reverse("scheduling:shared-resource-add", args=[rooms.year.pk]), {"name": name, "capacity": str(capacity)}
    )
    assert page.status_code == 422


def test_a_year_holds_so_many_and_no_more(rooms: Rooms, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(services, "MOST_IN_A_YEAR", 2)
    with pytest.raises(RuleBroken, match="2 shared resources"):
        services.add_resource(rooms.year, name="Hall", capacity=1)


def test_what_a_block_needs_stays_and_says_how_many_need_it(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "science"), lab=1)
    with pytest.raises(RuleBroken, match="1 block in 1 classroom needs Science lab"):
        services.remove_resource(rooms.lab)
    page = client_of(rooms.ada).post(reverse("scheduling:shared-resource-remove", args=[rooms.year.pk, rooms.lab.pk]))
    assert (page.status_code, "Take it out of them first" in page.content.decode()) == (422, True)


def test_there_are_never_fewer_than_one_block_needs(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "science"), aides=2)
    with pytest.raises(RuleBroken, match="A block needs 2 of it"):
        services.change_resource(rooms.aides, name="Aide", capacity=1)
    services.change_resource(rooms.aides, name="Aide", capacity=3)


def test_a_change_gives_the_year_a_new_revision_so_that_every_page_says_the_new_name(rooms: Rooms) -> None:
    assert year_words(fresh(rooms)).resources[rooms.lab.pk].name == "Science lab"
    was = fresh(rooms).revision
    services.change_resource(rooms.lab, name="Wet lab", capacity=1)
    assert fresh(rooms).revision != was
    assert year_words(fresh(rooms)).resources[rooms.lab.pk].name == "Wet lab"


def test_a_resource_of_another_school_is_not_found(rooms: Rooms) -> None:
    other = make_rooms(name="Another school")
    page = client_of(rooms.ada).get(reverse("scheduling:shared-resource", args=[rooms.year.pk, other.lab.pk]))
    assert page.status_code == 404


# What a block needs


def fields(rooms: Rooms, **more: Any) -> dict[str, Any]:
    math = rooms.year.activities.get(key="math").pk
    kind = rooms.year.day_kinds.get(key="regular").pk
    return {"place": f"mon:{kind}", "start": "09:00", "end": "10:00", "activity": str(math), **more}


def test_a_block_says_what_it_needs_in_its_form_and_keeps_it_when_it_is_moved(rooms: Rooms) -> None:
    ada, week = client_of(rooms.ada), rooms.weeks[12]
    needs = {"use_resource": [str(rooms.aides.pk), str(rooms.lab.pk), ""], "use_amount": ["2", "", ""]}
    answer = ada.post(reverse("scheduling:block-add", args=[week.pk]), fields(rooms, **needs))
    assert answer.status_code == 302
    block = Block.objects.get()
    assert set(block.uses.values_list("resource__name", "amount")) == {("Classroom aide", 2), ("Science lab", 1)}
    page = ada.get(reverse("scheduling:block-edit", args=[block.pk])).content.decode()
    assert f'<option value="{rooms.lab.pk}" selected>Science lab</option>' in page
    kind = block.column.kind_id
    moved = {"place": f"tue:{kind}", "start": "10:00", "end": "11:00", "revision": str(block.revision)}
    ada.post(reverse("scheduling:block-move", args=[block.pk]), moved)
    block.refresh_from_db()
    assert (block.start, block.uses.count()) == (600, 2)
    revision = {"revision": str(block.revision)}
    # A page that says nothing of it leaves it; one that says "nothing" takes it away.
    ada.post(reverse("scheduling:block-edit", args=[block.pk]), fields(rooms, **revision))
    block.refresh_from_db()
    assert block.uses.count() == 2
    revision = {"revision": str(block.revision)}
    ada.post(reverse("scheduling:block-edit", args=[block.pk]), fields(rooms, use_resource=[""], **revision))
    assert not BlockUse.objects.exists()


@pytest.mark.parametrize(
    ("needs", "sentence"),
    [
        ([("lab", "2")], "Science lab: there is 1, and the block needs 2"),
        ([("aides", "3")], "Classroom aide: there are 2, and the block needs 3"),
        ([("lab", "1"), ("lab", "1")], "Name each thing it needs once"),
        ([("lab", "some")], "Say how many of Science lab it needs"),
        ([("lab", "0")], "Say how many of Science lab it needs"),
        ([("nothing", "1")], "Choose among what"),
    ],
)
def test_what_a_block_cannot_need_is_refused_and_nothing_typed_is_lost(
    rooms: Rooms, needs: list[tuple[str, str]], sentence: str
) -> None:
    names = [str(getattr(rooms, name).pk) if name != "nothing" else "99999" for name, _ in needs]
    sent = fields(rooms, use_resource=names, use_amount=[amount for _, amount in needs])
    page = client_of(rooms.ada).post(reverse("scheduling:block-add", args=[rooms.weeks[12].pk]), sent)
    assert page.status_code == 422
    assert sentence in page.content.decode()
    assert not needs[0][1].isdigit() or f'value="{needs[0][1]}"' in page.content.decode()
    assert not Block.objects.exists()


def test_a_year_without_anything_shared_asks_nothing(db: None) -> None:
    week = make.make_week(make.make_classroom(make.make_year()))
    teacher = make.make_teacher(week.classroom)
    page = client_of(teacher).get(reverse("scheduling:block-add", args=[week.pk])).content.decode()
    assert "classes share" not in page


def test_who_may_only_look_reads_what_a_block_needs(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "science"), lab=1, aides=2)
    guest = make.make_teammate(rooms.weeks[12].classroom.team, "Guido", "guest")
    page = client_of(guest).get(reverse("scheduling:block-edit", args=[Block.objects.get().pk])).content.decode()
    assert "<dt>Needs</dt><dd>Classroom aide (2) and Science lab</dd>" in page


def test_two_who_change_what_a_block_needs_choose_whose_stands(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "math"))
    block, ada = Block.objects.get(), client_of(rooms.ada)
    stale = {"revision": str(block.revision), "week": str(rooms.weeks[12].pk)}
    change(rooms, block, uses=((rooms.lab.pk, 1),))
    mine = fields(rooms, use_resource=[str(rooms.aides.pk)], use_amount=["1"], **stale)
    page = ada.post(reverse("scheduling:block-edit", args=[block.pk]), mine)
    assert page.status_code == 409
    assert "Needs" in page.content.decode()
    began = {"began": stale["revision"], "question": "uses", "take-uses": "mine"}
    block.refresh_from_db()
    ada.post(reverse("scheduling:block-edit", args=[block.pk]), {**mine, **began, "revision": str(block.revision)})
    assert list(block.uses.values_list("resource__name", flat=True)) == ["Classroom aide"]


# Clashes


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


# Pages


def test_the_list_says_who_can_have_it_and_how_often_it_clashes(rooms: Rooms) -> None:
    for room in (12, 14):
        put(rooms, room, ("mon", "09:00", "10:00", "science"), lab=1)
    lines = {line.name: line for line in resource_lines(fresh(rooms), make.FIRST_DAY)}
    assert lines["Science lab"].needed == "needed by 2 blocks in 2 classrooms"
    assert (lines["Science lab"].at_once, lines["Science lab"].clashes) == ("one class at a time", 1)
    assert (lines["Classroom aide"].needed, lines["Classroom aide"].used) == ("no block needs it yet", False)


def test_its_page_has_who_has_it_when_and_what_is_left(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "math"), aides=1)
    week = resource_week(fresh(rooms), rooms.aides.pk, make.FIRST_DAY, ALL)
    monday, tuesday = week.strips[0].days[:2]
    assert [(line.times, line.room or line.left) for line in monday.lines] == [
        (f"8:00{DASH}9:00", "free"),
        (f"9:00{DASH}10:00", "Room12"),
        (f"9:00{DASH}10:00", "1 of 2 free"),
        (f"10:00{DASH}2:30", "free"),
    ]
    assert [line.left for line in tuesday.lines] == ["free"]


def test_its_page_tells_strangers_to_a_classroom_who_has_it_but_not_what_for(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "science"), lab=1)
    otto = make.make_teacher(make.make_classroom(rooms.year, "room31", ("5",)), "Otto")
    url = reverse("scheduling:shared-resource", args=[rooms.year.pk, rooms.lab.pk]) + f"?on={make.FIRST_DAY}"
    theirs, adas = (client_of(member).get(url).content.decode() for member in (otto, rooms.ada))
    block = reverse("scheduling:block-edit", args=[Block.objects.get().pk])
    assert "Room12" in theirs and "Science</" not in theirs and block not in theirs
    assert block in adas


def test_pages_without_anything_say_what_comes_next(db: None) -> None:
    year = make.make_year()
    ada = make.make_coordinator(year.school, "Ada", "administrator")
    cora = make.make_coordinator(year.school)
    url = reverse("scheduling:shared-resources", args=[year.pk])
    assert "Add the first one" in client_of(ada).get(url).content.decode()
    assert "The school’s administrator adds them." in client_of(cora).get(url).content.decode()


def test_queries_do_not_grow_with_classrooms(rooms: Rooms, django_assert_max_num_queries: Any) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "science"), lab=1, aides=1)
    school_uses(fresh(rooms), make.FIRST_DAY)
    for number in range(40, 60):
        rooms.weeks[number] = make.make_week(make.make_classroom(rooms.year, f"room{number}"))
        put(rooms, number, ("mon", "09:00", "10:00", "science"), lab=1, aides=1)
    year = fresh(rooms)
    with django_assert_max_num_queries(3):
        assert len(clashes_told(school_uses(year, make.FIRST_DAY))) == 2
