"""The pages of team blocks: what is shown before the yes, who may say it, and what is said after."""

import re
from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from scheduling.models import Block, WeekChange
from teamroom.members.models import Team
from tests import factories as make
from tests.scheduling.team_rooms import Rooms, change, make_rooms, move, share, step_out

pytestmark = pytest.mark.django_db
HTMX = {"HX-Request": "true"}


@pytest.fixture
def rooms() -> Rooms:
    rooms = make_rooms()
    make.make_rule(rooms.year, "art", {"pool": {"of": ["art"]}, "at_least": 40}, name="Art in the week")
    make.add(rooms.weeks[0], rooms.ana, ("tue", "09:00", "09:40", "art"))
    make.add(rooms.weeks[1], rooms.ana, ("tue", "09:00", "09:40", "art"))
    return rooms


@pytest.fixture
def page(client: Client, rooms: Rooms) -> Client:
    client.force_login(rooms.ana)
    return client


def url(name: str, block: Block) -> str:
    return reverse(f"scheduling:{name}", args=[block.pk])


def text(page: Client, path: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", unescape(page.get(path).content.decode())).split())


def tokens(page: Client, block: Block) -> list[str]:
    return re.findall(r'name="classrooms" value="([^"]+)"', page.get(url("block-share", block)).content.decode())


def test_what_it_does_in_each_classroom_is_shown_before_the_yes_and_said_after(page: Client, rooms: Rooms) -> None:
    art = rooms.block(0, "art")
    shown = text(page, url("block-share", art))
    assert "Room14: takes the place of Art, 9:00–9:40" in shown
    assert "Room15: goes into free time" in shown
    answer = page.post(
        url("block-share", art), {"classrooms": tokens(page, art), "revision": art.revision, "reason": "one teacher"}
    )
    assert (answer.status_code, len(rooms.together()[0])) == (302, 1)
    said = text(page, answer.headers["Location"])
    assert "Art, Tuesday, 9:00–9:40: a team block of Room12, Room14 and Room15 now." in said
    assert "Room15: Art in the week is now met." in said
    assert set(WeekChange.objects.filter(deed__in=["share", "join"]).values_list("reason", flat=True)) == {
        "one teacher"
    }


def test_a_week_that_changed_meanwhile_is_shown_as_it_is_now(page: Client, rooms: Rooms) -> None:
    art = rooms.block(0, "art")
    sent: dict[str, Any] = {"classrooms": tokens(page, art), "revision": art.revision}
    make.add(rooms.weeks[2], rooms.ana, ("tue", "09:10", "09:30", "pe"))
    answer = page.post(url("block-share", art), sent)
    assert (answer.status_code, rooms.together()) == (422, [set()] * 3)
    assert "Room15: PE already takes 9:10 to 9:30." in unescape(answer.content.decode())
    change(rooms.ana, rooms.block(1, "art"), why="the cart")
    answer = page.post(url("block-share", art), {**sent, "classrooms": sent["classrooms"][:1]})
    assert answer.status_code == 409
    assert page.post(url("block-share", art), {"revision": art.revision}).status_code == 422
    assert page.post(url("block-share", art), {**sent, "classrooms": ["x"]}).status_code == 422


def test_a_teacher_takes_a_team_block_from_a_colleagues_week(page: Client, rooms: Rooms, client: Client) -> None:
    share(rooms.ana, rooms.block(0, "art"), rooms.weeks[1])
    Team.objects.update(edits_together=False)
    nora = make.make_teacher(rooms.weeks[2].classroom, "Nora")
    client.force_login(nora)
    art = rooms.block(0, "art")
    assert "Hold it in more classrooms" in text(client, url("block-edit", art))
    sent = {"classrooms": tokens(client, art), "revision": art.revision}
    answer = client.post(url("block-share", art), sent, headers=HTMX)
    assert (answer.status_code, rooms.times()[2]) == (204, [("tue", 540, 580)])
    assert answer.headers["HX-Redirect"].startswith(f"/classrooms/{rooms.weeks[2].classroom_id}/")


def test_who_reads_the_week_is_not_offered_what_they_may_not(page: Client, rooms: Rooms, client: Client) -> None:
    share(rooms.ana, rooms.block(0, "art"), rooms.weeks[1])
    client.force_login(make.make_teammate(rooms.weeks[0].classroom.team, "Guido", "guest"))
    shown = text(client, url("block-edit", rooms.block(0, "art")))
    assert "Team block. A change here shows in Room14 too." in shown
    assert "Step out" not in shown and "Hold it in more" not in shown
    assert client.get(url("block-share", rooms.block(0, "art"))).status_code == 403


def test_the_panel_says_where_a_change_shows_and_which_weeks_stay(page: Client, rooms: Rooms) -> None:
    share(rooms.ana, rooms.block(0, "art"), *rooms.weeks[1:])
    art = rooms.block(0, "art")
    assert "Team block. A change here shows in Room14 and Room15 too." in text(page, url("block-edit", art))
    assert "40 minutes become free here and in Room14 and Room15" in text(page, url("block-remove", art))
    sent = {"starts": "2026-10-05", "how": "draft", "name": ""}
    page.post(reverse("scheduling:week-start", args=[rooms.weeks[1].pk]), sent)
    assert "Drafts for Mon 5 Oct stay as they are." in text(page, url("block-move", art))
    assert "All classrooms of Grade 4 hold it." in text(page, url("block-share", art))


def test_an_edit_says_the_other_classrooms_and_what_turned_there(page: Client, rooms: Rooms) -> None:
    share(rooms.ana, rooms.block(0, "art"), *rooms.weeks[1:])
    art = rooms.block(0, "art")
    sent = {"revision": art.revision, "place": f"tue:{art.column.kind_id}", "start": "09:00", "end": "09:30"}
    answer = page.post(url("block-move", art), sent, headers=HTMX).content.decode()
    assert unescape(answer.split("\n")[0]) == (
        "Art on Tue is now 30 minutes, 9:00–9:30. In Room14 and Room15 too. Art in the week is 10 minutes short in "
        "the week of 7 Sep. Room14: Art in the week is 10 minutes short in the week of 7 Sep. "
        "Room15: Art in the week is 10 minutes short in the week of 7 Sep."
    )
    assert "team of 3" in answer


def test_where_it_is_not_theirs_a_drag_says_so_with_the_way_out(page: Client, rooms: Rooms) -> None:
    share(rooms.ana, rooms.block(0, "art"), rooms.weeks[1])
    Team.objects.update(edits_together=False)
    art = rooms.block(0, "art")
    sent = {"revision": art.revision, "place": f"tue:{art.column.kind_id}", "start": "10:00", "end": "10:40"}
    answer = page.post(url("block-move", art), {**sent, "dragged": "1"}, headers=HTMX)
    assert answer.status_code == 422
    body = answer.content.decode()
    assert "Room14 holds this block too and is not yours to change: ask the lead, or step out of it." in body
    assert url("block-step-out", art) in body
    assert "Room14 holds this block too" in text(page, url("block-edit", art))
    stepped = page.post(url("block-step-out", art), {"revision": art.revision}, headers=HTMX)
    assert "Art on Tue 9:00–9:40 is this classroom’s own now." in unescape(stepped.content.decode())
    assert page.post(url("block-move", art), {**sent, "revision": rooms.block(0, "art").revision}).status_code == 302
    assert "held with nobody" in text(page, url("block-step-out", art))


def test_stepping_out_of_what_changed_meanwhile_asks_to_look_again(page: Client, rooms: Rooms) -> None:
    share(rooms.ana, rooms.block(0, "art"), rooms.weeks[1])
    art = rooms.block(0, "art")
    move(rooms.ana, rooms.block(1, "art"), "wed", 600, 640)
    assert page.post(url("block-step-out", art), {"revision": art.revision}).status_code == 409
    step_out(rooms.ana, rooms.block(0, "art"))
    assert rooms.times()[:2] == [[("wed", 600, 640)]] * 2


def test_an_edit_from_behind_shows_both_changes_side_by_side(page: Client, rooms: Rooms) -> None:
    share(rooms.ana, rooms.block(0, "art"), rooms.weeks[1])
    art = rooms.block(0, "art")
    ben = make.make_teammate(rooms.weeks[0].classroom.team, "Ben")
    move(ben, rooms.block(1, "art"), "wed", 600, 640)
    sent = {"revision": art.revision, "place": f"tue:{art.column.kind_id}", "start": "09:00", "end": "09:50"}
    answer = page.post(url("block-edit", art), {**sent, "activity": art.activity_id}, headers=HTMX)
    assert answer.status_code == 409
    assert "Ben has changed this block meanwhile" in answer.content.decode()
