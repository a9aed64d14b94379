"""People of a year on screen: who sees whom, giving and taking roles, and what closing an account leaves."""

from collections.abc import Callable

import pytest
from django.core import mail
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.models import WeekChange
from teamroom.members.models import ClassTeacher, DistrictRole, Invitation, Member, SchoolRole, TeamRole
from teamroom.members.services.closing import close_account
from tests import factories as make
from tests.members.letting_in import Place

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Place:
    return Place()


def at(place: Place, name: str, *more: int) -> str:
    return reverse(f"members:{name}", args=[place.year.pk, *more])


def signed_in(member: Member) -> Client:
    client = Client()
    client.force_login(member)
    return client


def test_an_administrator_sees_everybody_and_each_part(place: Place) -> None:
    make.make_teacher(place.room, "Tamsin")
    make.make_teacher(place.other_room, "Otto")
    page = signed_in(place.administrator).get(at(place, "people")).text
    for words in ("Ada", "Lena", "Tamsin", "Otto", "Administrator of the school", "Lead of Grade 4", "Teaches Room31"):
        assert words in page


def test_a_lead_sees_their_own_team_alone(place: Place) -> None:
    make.make_teacher(place.room, "Tamsin")
    otto = make.make_teacher(place.other_room, "Otto")
    place.invited("other@school.example", team=place.other_room.team, team_role="guest")
    place.invited("both@school.example", school_role="coordinator", team=place.team, team_role="guest")
    place.invited("mine@school.example")
    client = signed_in(place.lead)
    page = client.get(at(place, "people")).text
    assert "Tamsin" in page and "mine@school.example" in page
    for words in ("Otto", "ada@school.example", "other@school.example", "both@school.example"):
        assert words not in page
    for path in (f"?team={place.other_room.team_id}", "?team=none", "?q=otto"):
        assert "otto@school.example" not in client.get(at(place, "people") + path).text
    assert client.get(at(place, "person", otto.pk)).status_code == 404


def test_nobody_of_another_school_is_in_the_list(place: Place) -> None:
    make.make_teacher(make.make_classroom(make.make_year("Another school")), "Stella")
    for query in ("", "?team=none", "?q=stella"):
        assert "stella@" not in signed_in(place.administrator).get(at(place, "people") + query).text


@pytest.mark.parametrize(
    ("query", "seen"),
    [
        ("?q=tam", {"Tamsin"}),
        ("?q=TAMSIN school.example", {"Tamsin"}),
        ("?q=nobody-of-that-name", set()),
        ("?team={team}", {"Tamsin", "Lena"}),
        ("?team=99999", {"Tamsin", "Lena", "Ada"}),
        ("?team=none", {"Gone"}),
        ("?q=%00%F0&team=%00", set()),
    ],
)
def test_people_are_found_by_name_address_and_team(place: Place, query: str, seen: set[str]) -> None:
    make.make_teacher(place.room, "Tamsin")
    gone = make.make_teammate(place.team, "Gone")
    TeamRole.objects.filter(member=gone).delete()
    page = signed_in(place.administrator).get(at(place, "people") + query.format(team=place.team.pk))
    names = {"Tamsin", "Lena", "Ada", "Gone"}
    assert page.status_code == 200
    assert {name for name in names if f"{name.lower()}@school.example" in page.text} == seen


def test_a_role_in_the_school_is_given_and_taken(place: Place) -> None:
    nora = make.make_teammate(place.team, "Nora")
    client = signed_in(place.administrator)
    answer = client.post(at(place, "school-role-give", nora.pk), {"role": "coordinator"}, follow=True)
    assert "Nora is a coordinator of Fernhollow Elementary now" in answer.text
    answer = client.post(at(place, "school-role-take", nora.pk), {"role": "coordinator"}, follow=True)
    assert "no longer a coordinator" in answer.text
    assert '<option value="coordinator" selected>' in answer.text, "what was taken stands ready to be given back"
    assert not nora.school_roles.exists()


def test_a_role_in_a_team_is_given_changed_and_taken_and_given_back(place: Place) -> None:
    nora = make.make_coordinator(place.school, "Nora")
    client = signed_in(place.administrator)
    for role in ("guest", "lead"):
        client.post(at(place, "team-role-give", nora.pk), {"team": place.team.pk, "role": role})
        assert nora.team_roles.get().role == role
    answer = client.post(at(place, "team-role-take", nora.pk), {"team": place.team.pk}, follow=True)
    assert "Nora is no longer in Grade 4." in answer.text and '<option value="lead" selected>' in answer.text
    assert not nora.team_roles.exists()


def test_who_was_taken_out_of_everything_can_still_be_found_and_given_it_back(place: Place) -> None:
    nora = make.make_teammate(place.team, "Nora")
    for by in (place.lead, place.administrator):
        client = signed_in(by)
        client.post(at(place, "team-role-take", nora.pk), {"team": place.team.pk})
        assert not nora.team_roles.exists()
        client.post(at(place, "team-role-give", nora.pk), {"team": place.team.pk, "role": "teacher"})
        assert nora.team_roles.exists()


def test_a_lead_changes_their_own_team_only(place: Place) -> None:
    nora = make.make_teammate(place.team, "Nora")
    TeamRole.objects.create(team=place.other_room.team, member=nora, role="guest")
    client = signed_in(place.lead)
    assert client.post(at(place, "team-role-give", nora.pk), {"team": place.team.pk, "role": "lead"}).status_code == 302
    other = {"team": place.other_room.team_id, "role": "lead"}
    assert client.post(at(place, "team-role-give", nora.pk), other).status_code == 422
    assert client.post(at(place, "team-role-take", nora.pk), other).status_code == 403
    assert client.post(at(place, "school-role-give", nora.pk), {"role": "administrator"}).status_code == 403
    assert {part.role for part in nora.team_roles.all()} == {"lead", "guest"}
    assert not nora.school_roles.exists()


GUESSES: dict[str, Callable[[Place], dict[str, object]]] = {
    "school-role-give": lambda p: {"role": "district administrator"},
    "school-role-take": lambda p: {"role": "lead"},
    "team-role-give": lambda p: {"team": make.make_classroom(make.make_year("Another school")).team_id, "role": "lead"},
    "team-role-take": lambda p: {"team": make.make_classroom(make.make_year("Another school")).team_id},
}


@pytest.mark.parametrize("name", GUESSES)
def test_what_is_not_in_the_list_is_refused(place: Place, name: str) -> None:
    nora = make.make_teammate(place.team, "Nora")
    answer = signed_in(place.administrator).post(at(place, name, nora.pk), GUESSES[name](place))
    assert answer.status_code == 422
    assert [part.role for part in nora.team_roles.all()] == ["teacher"] and not nora.school_roles.exists()


def test_nothing_beside_the_role_is_taken_from_the_form(place: Place) -> None:
    nora = make.make_teammate(place.team, "Nora")
    more = {
        "role": "coordinator",
        "member": place.lead.pk,
        "school": 999,
        "is_active": "",
        "email": "eve@school.example",
    }
    signed_in(place.administrator).post(at(place, "school-role-give", nora.pk), more)
    assert SchoolRole.objects.get(role="coordinator").member == nora
    nora.refresh_from_db()
    assert nora.email == "nora@school.example" and nora.is_active


@pytest.mark.parametrize(
    "name",
    [
        "person",
        "school-role-give",
        "school-role-take",
        "team-role-give",
        "team-role-take",
        "person-close",
        "person-reopen",
    ],
)
def test_people_of_another_school_are_reached_by_no_guess(place: Place, name: str) -> None:
    elsewhere = make.make_classroom(make.make_year("Another school"))
    stella = make.make_teacher(elsewhere, "Stella")
    una = make.make_coordinator(elsewhere.year.school, "Una", "administrator")
    sent = {"role": "coordinator", "team": place.team.pk}
    for member, year, person in (
        (place.administrator, place.year, stella),
        (place.administrator, elsewhere.year, stella),
        (una, place.year, place.lead),
        (una, elsewhere.year, place.lead),
    ):
        path = reverse(f"members:{name}", args=[year.pk, person.pk])
        client = signed_in(member)
        answers = {client.post(path, sent).status_code} if name != "person" else {client.get(path).status_code}
        assert answers == {404}
    assert stella.is_active and not stella.school_roles.exists() and stella.team_roles.count() == 1


def test_invitations_of_another_school_are_reached_by_no_guess(place: Place) -> None:
    elsewhere = make.make_year("Another school")
    una = make.make_coordinator(elsewhere.school, "Una", "administrator")
    made = place.invited()
    for year in (elsewhere, place.year):
        for name in ("invitation-renew", "invitation-revoke"):
            path = reverse(f"members:{name}", args=[year.pk, made.invitation.pk])
            assert signed_in(una).post(path).status_code == 404
    for name in ("school-invitation-renew", "school-invitation-revoke"):
        for school in (elsewhere.school_id, place.school.pk):
            assert signed_in(una).post(reverse(name, args=[school, made.invitation.pk])).status_code == 404
    kept = Invitation.objects.get()
    assert kept.revoked_at is None and kept.token_hash == made.invitation.token_hash


def test_inviting_shows_the_link_once_and_sends_a_letter(place: Place) -> None:
    client = signed_in(place.lead)
    sent = {"email": "nora@school.example", "name": "Nora", "team": place.team.pk, "team_role": "teacher", "days": "14"}
    answer = client.post(at(place, "invite"), sent)
    assert answer.status_code == 200 and "It is for Nora (nora@school.example) alone" in answer.text
    link = answer.text.split('readonly value="')[1].split('"')[0]
    assert link.startswith("http://testserver/invitation/")
    assert Client().get(link).status_code == 200
    assert len(mail.outbox) == 1
    again = client.post(at(place, "invite"), sent)
    assert again.status_code == 422 and "open invitation" in again.text
    assert link.rsplit("/", 2)[1] not in client.get(at(place, "people")).text


def test_a_lead_is_offered_and_given_nothing_beyond_their_team(place: Place) -> None:
    client = signed_in(place.lead)
    form = client.get(at(place, "invite")).text
    assert "Grade 4" in form and "Grade 5" not in form and "coordinator" not in form and "Room31" not in form
    sent = {"email": "nora@school.example", "team": place.team.pk, "team_role": "guest", "days": "14"}
    for more in ({"team": place.other_room.team_id}, {"classroom": place.other_room.pk}):
        assert client.post(at(place, "invite"), {**sent, **more}).status_code == 422
    assert not Invitation.objects.exists()
    assert client.post(at(place, "invite"), {**sent, "school_role": "administrator"}).status_code == 200
    assert Invitation.objects.get().school_role == ""


def test_a_lead_does_not_touch_invitations_beyond_their_team(place: Place) -> None:
    beyond = [
        place.invited("a@school.example", team=place.other_room.team, team_role="guest"),
        place.invited("b@school.example", school_role="coordinator", team=place.team, team_role="guest"),
        place.invited("c@school.example", school_role="coordinator"),
    ]
    client = signed_in(place.lead)
    for made in beyond:
        for name in ("invitation-renew", "invitation-revoke"):
            assert client.post(at(place, name, made.invitation.pk)).status_code == 404
    assert Invitation.objects.filter(revoked_at=None).count() == 3


def test_an_invitation_is_taken_back_and_renewed(place: Place) -> None:
    made = place.invited()
    client = signed_in(place.lead)
    answer = client.post(at(place, "invitation-revoke", made.invitation.pk), follow=True)
    assert "taken back: its link lets nobody in" in answer.text and "Renew" in answer.text
    assert Client().get(made.link).status_code == 410
    answer = client.post(at(place, "invitation-renew", made.invitation.pk))
    link = answer.text.split('readonly value="')[1].split('"')[0]
    assert Client().get(link).status_code == 200


def test_the_last_administrator_keeps_the_role(place: Place) -> None:
    client = signed_in(place.administrator)
    answer = client.post(at(place, "school-role-take", place.administrator.pk), {"role": "administrator"})
    assert answer.status_code == 422 and "the only administrator" in answer.text
    second = make.make_coordinator(place.school, "Una", "administrator")
    Member.objects.filter(pk=second.pk).update(is_active=False)
    answer = client.post(at(place, "school-role-take", place.administrator.pk), {"role": "administrator"})
    assert answer.status_code == 422, "somebody whose account is closed looks after nothing"
    Member.objects.filter(pk=second.pk).update(is_active=True)
    answer = client.post(at(place, "school-role-take", place.administrator.pk), {"role": "administrator"})
    assert answer.status_code == 302 and answer["Location"] == "/"
    assert client.get(at(place, "people")).status_code == 404


def test_a_closed_account_is_out_at_once_and_its_name_stays_where_it_was(place: Place) -> None:
    nora = make.make_teacher(place.room, "Nora")
    theirs = signed_in(nora)
    week = make.make_week(place.room)
    make.add(week, nora, ("mon", "08:00", "09:00", "math"))
    client = signed_in(place.administrator)
    assert "stays under their name" in client.get(at(place, "person-close", nora.pk)).text
    answer = client.post(at(place, "person-close", nora.pk), follow=True)
    assert "The account of Nora is closed" in answer.text
    assert theirs.get("/").status_code == 302
    assert WeekChange.objects.values_list("member__name", flat=True).get() == "Nora"
    assert TeamRole.objects.filter(member=nora).exists() and ClassTeacher.objects.filter(member=nora).exists()
    assert "account closed" in client.get(at(place, "people")).text
    answer = client.post(at(place, "person-reopen", nora.pk), follow=True)
    assert "open again" in answer.text
    assert theirs.get("/").status_code == 302, "an old session does not come back to life"
    assert signed_in(nora).get("/").status_code == 200


def test_the_trail_keeps_the_name_of_whose_account_is_closed(place: Place) -> None:
    nora = make.make_coordinator(place.school, "Nora", "administrator")
    perry = make.make_teammate(place.team, "Perry")
    signed_in(nora).post(at(place, "team-role-give", perry.pk), {"team": place.team.pk, "role": "lead"})
    client = signed_in(place.administrator)
    client.post(at(place, "person-close", nora.pk))
    client.post(at(place, "person-close", perry.pk))
    trail = client.get(reverse("trail", args=[place.year.pk])).text
    assert "Nora" in trail and "Perry" in trail


def test_an_administrator_closes_nobody_who_is_of_another_school_too(place: Place) -> None:
    nora = make.make_teammate(place.team, "Nora")
    TeamRole.objects.create(team=make.make_classroom(make.make_year("Another school")).team, member=nora, role="guest")
    client = signed_in(place.administrator)
    assert "a district administrator has to do this" in client.get(at(place, "person", nora.pk)).text
    assert client.post(at(place, "person-close", nora.pk)).status_code == 422
    nora.refresh_from_db()
    assert nora.is_active
    dita = make.make_member("Dita")
    DistrictRole.objects.create(member=dita)
    assert signed_in(dita).post(at(place, "person-close", nora.pk)).status_code == 302
    assert client.post(at(place, "person-reopen", nora.pk)).status_code == 422
    nora.refresh_from_db()
    assert not nora.is_active


def test_nobody_closes_their_own_account_nor_the_districts(place: Place) -> None:
    client = signed_in(place.administrator)
    assert client.post(at(place, "person-close", place.administrator.pk)).status_code == 422
    dita = make.make_coordinator(place.school, "Dita")
    DistrictRole.objects.create(member=dita)
    answer = client.post(at(place, "person-close", dita.pk))
    assert answer.status_code == 422 and "another district administrator" in answer.text
    assert Member.objects.filter(is_active=False).count() == 0


def test_closing_takes_back_what_they_sent(place: Place) -> None:
    made = place.invited(by=place.lead)
    assert close_account(place.lead, by=place.administrator) == 1
    assert Client().get(made.link).status_code == 410


def test_a_retired_team_is_read_and_takes_nobody_in(place: Place) -> None:
    nora = make.make_teammate(place.team, "Nora")
    place.team.retired = True
    place.team.save()
    client = signed_in(place.administrator)
    assert "Grade 4 (retired)" in client.get(at(place, "people")).text
    sent = {"team": place.team.pk, "role": "lead"}
    assert client.post(at(place, "team-role-give", nora.pk), sent).status_code == 422
    assert client.post(at(place, "team-role-take", nora.pk), sent).status_code == 302


def test_the_lists_queries_do_not_grow_with_people(place: Place) -> None:
    client = signed_in(place.administrator)

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as asked:
            client.get(at(place, "people"))
        return len(asked)

    make.make_teacher(place.room, "First")
    place.invited("first@invited.example")
    few = queries()
    for number in range(18):
        make.make_teacher(place.room, f"More{number}")
        place.invited(f"more{number}@invited.example", classroom=place.other_room)
    assert queries() == few
    assert few <= 18
