"""What classes share: made, changed and removed by the administrator, needed by blocks, and its pages."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from scheduling.models import Block, BlockUse, SharedResource
from scheduling.selectors.clash_words import clashes_told
from scheduling.selectors.resource_uses import school_uses
from scheduling.selectors.shared_resources import resource_lines, resource_week
from scheduling.selectors.year_words import year_words
from scheduling.services import shared_resources as services
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Member
from teamroom.members.selectors.readable import Readable
from tests import factories as make
from tests.scheduling.sharing_rooms import Rooms, change, make_rooms, put

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


def fresh(rooms: Rooms) -> SchoolYear:
    return SchoolYear.objects.select_related("school").get(pk=rooms.year.pk)


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
