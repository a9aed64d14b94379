"""Who loses what they were permitted by, or is signed out, loses their open streams within seconds."""

from collections.abc import Callable, Iterator

import pytest
from asgiref.sync import sync_to_async
from django.conf import settings
from django.db import transaction
from django.test import Client

from teamroom.common.live.announcing import announce, classroom_topic, person_topic, year_topic
from teamroom.members.models import Classroom, DistrictRole, Member
from teamroom.members.services import accounts, closing, district, people, teaching
from tests import factories as make
from tests.live.serving import Server, a_server, a_stream, played, session_of, wait_until_it_answers
from tests.security.conftest import NEW, PHRASE, sent

pytestmark = pytest.mark.django_db(transaction=True)
SOON = 5.0
"""Seconds, on a machine that does much else. Without a word it would take ten minutes."""


@pytest.fixture
def room() -> Classroom:
    return make.make_classroom(make.make_year())


@pytest.fixture
def server(room: Classroom) -> Iterator[Server]:
    with a_server() as server:
        wait_until_it_answers(server)
        yield server


@pytest.fixture
def ada(room: Classroom) -> Member:
    return make.make_coordinator(room.year.school, "Ada", "administrator")


@sync_to_async
def done(deed: Callable[[], object]) -> None:
    deed()


def topics_of(room: Classroom) -> list[str]:
    return [classroom_topic(room.pk), year_topic(room.year_id)]


def ends(server: Server, cookie: str, room: Classroom, deed: Callable[[], object]) -> int:
    """Do something under an open stream and see it end: what who opens it again is answered."""

    async def story() -> int:
        async with a_stream(server.port, cookie, topics_of(room)) as stream:
            assert (await stream.event())[0] == "at"
            await done(deed)
            with pytest.raises(EOFError):
                await stream.event(patience=SOON)
        async with a_stream(server.port, cookie, topics_of(room)) as again:
            return again.status

    return played(story())


def coordinator(room: Classroom, ada: Member) -> tuple[Member, Callable[[], object]]:
    member = make.make_coordinator(room.year.school)
    return member, lambda: people.take_school_role(member, room.year.school, "coordinator")


def of_the_team(room: Classroom, ada: Member) -> tuple[Member, Callable[[], object]]:
    member = make.make_teammate(room.team)
    return member, lambda: people.take_team_role(member, room.team)


def of_the_district(room: Classroom, ada: Member) -> tuple[Member, Callable[[], object]]:
    member = make.make_member("Dora")
    DistrictRole.objects.bulk_create([DistrictRole(member=member), DistrictRole(member=ada)])
    return member, lambda: district.take_district_role(member)


def whose_class_it_was(room: Classroom, ada: Member) -> tuple[Member, Callable[[], object]]:
    member = make.make_member("Clara")
    room.teachers.add(member)
    return member, lambda: teaching.take_off(room.class_teachers.get(member=member), last_day=None)


def whose_class_ended_before_today(room: Classroom, ada: Member) -> tuple[Member, Callable[[], object]]:
    member = make.make_member("Clara")
    room.teachers.add(member)
    first = room.year.first_day
    return member, lambda: teaching.change_dates(
        room.class_teachers.get(member=member), first_day=first, last_day=first
    )


def who_hands_it_over(room: Classroom, ada: Member) -> tuple[Member, Callable[[], object]]:
    member, other = make.make_member("Clara"), make.make_teammate(room.team)
    room.teachers.add(member)
    first = room.class_teachers.get(member=member)
    return member, lambda: teaching.hand_over(first, other, from_day=room.year.first_day)


@pytest.mark.parametrize(
    "who",
    [coordinator, of_the_team, of_the_district, whose_class_it_was, whose_class_ended_before_today, who_hands_it_over],
)
def test_who_loses_what_permitted_it_loses_the_stream(
    who: Callable[[Classroom, Member], tuple[Member, Callable[[], object]]],
    server: Server,
    room: Classroom,
    ada: Member,
) -> None:
    member, deed = who(room, ada)
    assert ends(server, session_of(member), room, deed) == 404


def test_a_closed_account_loses_its_streams(server: Server, room: Classroom, ada: Member) -> None:
    member = make.make_teacher(room)
    assert ends(server, session_of(member), room, lambda: closing.close_account(member, by=ada)) == 401


def signed_in(member: Member) -> Client:
    client = Client()
    assert sent(client, member.email, PHRASE) == 302
    return client


def cookie_of(client: Client) -> str:
    return f"{settings.SESSION_COOKIE_NAME}={client.cookies[settings.SESSION_COOKIE_NAME].value}"


def signs_out(client: Client, member: Member) -> None:
    assert client.post("/sign-out/").status_code == 302


def everywhere_else(client: Client, member: Member) -> None:
    elsewhere = signed_in(member)
    asked = elsewhere.post("/account/sessions/")
    elsewhere.post(asked["Location"], {"password": PHRASE})


def new_passphrase_elsewhere(client: Client, member: Member) -> None:
    data = {"oldpassword": PHRASE, "password1": NEW, "password2": NEW}
    assert signed_in(member).post("/account/passphrase/", data).status_code == 302


def lost_the_second_step(client: Client, member: Member) -> None:
    accounts.remove_second_steps(member)


@pytest.mark.parametrize("how", [signs_out, everywhere_else, new_passphrase_elsewhere, lost_the_second_step])
def test_whose_session_ends_loses_its_streams(
    how: Callable[[Client, Member], None], server: Server, room: Classroom
) -> None:
    member = make.make_teacher(room)
    client = signed_in(member)
    assert ends(server, cookie_of(client), room, lambda: how(client, member)) == 401


def test_who_may_still_read_goes_on_reading_and_nobody_elses_stream_ends(
    server: Server, room: Classroom, ada: Member
) -> None:
    both, other = make.make_coordinator(room.year.school), make.make_teacher(room)
    people.give_team_role(both, room.team, "teacher")
    topic = classroom_topic(room.pk)

    def a_change() -> None:
        with transaction.atomic():
            announce(topic)

    async def story() -> None:
        cookies = [session_of_both, session_of_other]
        async with (
            a_stream(server.port, cookies[0], topics_of(room)) as mine,
            a_stream(server.port, cookies[1], topics_of(room)) as theirs,
        ):
            for stream in (mine, theirs):
                await stream.event()
            await done(lambda: people.take_team_role(both, room.team))
            await done(a_change)
            for stream in (mine, theirs):
                assert await stream.event() == ("changed", {"topic": topic, "edition": 1})
                assert "person" not in stream.last_id

    session_of_both, session_of_other = session_of(both), session_of(other)
    played(story())


def test_nobody_can_ask_for_what_is_said_of_a_person(server: Server, room: Classroom) -> None:
    member = make.make_teacher(room)
    cookie = session_of(member)

    async def story() -> None:
        for topic in ("person", person_topic(member.pk)):
            async with a_stream(server.port, cookie, [topic]) as stream:
                assert stream.status == 404

    played(story())
