"""The page an invitation's link opens: who comes, and what each is shown."""

from datetime import timedelta

import pytest
from allauth.account.models import EmailAddress
from django.core import mail
from django.test import Client
from django.utils import timezone

from teamroom.members.models import Invitation, Member, TeamRole
from teamroom.members.services.invitations import revoke
from tests import factories as make
from tests.members.letting_in import PASSPHRASE, SITE, Place, path_of, token_of

pytestmark = pytest.mark.django_db
SENT = {"name": "Nora", "passphrase": PASSPHRASE}


@pytest.fixture
def place() -> Place:
    return Place()


def signed_in(member: Member) -> Client:
    client = Client()
    client.force_login(member)
    return client


def test_somebody_new_gives_name_and_passphrase_and_is_in(place: Place) -> None:
    made = place.invited()
    client = Client()
    shown = client.get(path_of(made))
    assert shown.status_code == 200 and "nora@school.example" in shown.text
    answer = client.post(path_of(made), SENT, follow=True)
    assert "You are in, as teacher of Grade 4." in answer.text
    assert answer.wsgi_request.user == Member.objects.get(name="Nora")
    assert "Room12" in client.get("/").text


def test_the_letter_proves_the_address_and_the_link_handed_over_does_not(place: Place) -> None:
    by_hand, by_letter = place.invited(), place.invited("sam@school.example")
    Client().post(path_of(by_hand), SENT)
    link = next(line for line in mail.outbox[1].body.splitlines() if line.startswith(SITE))
    assert token_of(by_letter) in link
    Client().post(link.removeprefix(SITE), {**SENT, "name": "Sam"})
    newcomers = EmailAddress.objects.filter(user__name__in=["Nora", "Sam"])
    assert dict(newcomers.values_list("email", "verified")) == {
        "nora@school.example": False,
        "sam@school.example": True,
    }


@pytest.mark.parametrize("ending", [".", ".0000000000000000", ".\N{SNOWMAN}", ".x.y"])
def test_a_proof_that_is_made_up_proves_nothing(place: Place, ending: str) -> None:
    made = place.invited()
    Client().post(f"{path_of(made).rstrip('/')}{ending}/", SENT)
    assert not EmailAddress.objects.filter(email="nora@school.example", verified=True).exists()


def test_nothing_beside_name_and_passphrase_is_taken_from_the_form(place: Place) -> None:
    made = place.invited()
    more = {
        "email": "eve@school.example",
        "is_active": "",
        "school_role": "administrator",
        "team": place.other_room.team_id,
        "team_role": "lead",
        "role": "lead",
        "is_superuser": "on",
        "district_role": "1",
    }
    Client().post(path_of(made), {**SENT, **more})
    nora = Member.objects.get(name="Nora")
    assert nora.email == "nora@school.example" and nora.is_active
    assert [(part.team, part.role) for part in nora.team_roles.all()] == [(place.team, "teacher")]
    assert not nora.school_roles.exists() and not hasattr(nora, "district_role")


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({"name": "", "passphrase": PASSPHRASE}, "Give your name."),
        ({"name": "Nora", "passphrase": ""}, "Choose a passphrase."),
        ({"name": "Nora", "passphrase": "short"}, "15 characters"),
        ({"name": "N" * 151, "passphrase": PASSPHRASE}, "150 characters"),
        ({}, "Give your name."),
    ],
)
def test_a_refusal_says_why_and_leaves_the_invitation_open(place: Place, sent: dict[str, str], sentence: str) -> None:
    made = place.invited()
    answer = Client().post(path_of(made), sent)
    assert answer.status_code == 422 and sentence in answer.text
    assert not Member.objects.filter(email="nora@school.example").exists()
    assert Invitation.objects.get().accepted_at is None


def test_an_address_with_an_account_signs_in_first_and_comes_back_here(place: Place) -> None:
    make.make_member("Nora")
    made = place.invited()
    for answer in (Client().get(path_of(made)), Client().post(path_of(made), SENT)):
        assert "Sign in first" in answer.text
        assert f"?next=%2Finvitation%2F{token_of(made)}%2F" in answer.text
    assert not TeamRole.objects.filter(member__name="Nora").exists()


def test_who_is_signed_in_accepts_by_a_button(place: Place) -> None:
    nora = make.make_member("Nora")
    made = place.invited()
    client = signed_in(nora)
    assert "Accept" in client.get(path_of(made)).text
    assert not nora.team_roles.exists()
    assert client.post(path_of(made)).status_code == 302
    assert nora.team_roles.get().role == "teacher"


def test_who_is_signed_in_as_somebody_else_is_told_so_and_shown_the_way_out(place: Place) -> None:
    made = place.invited()
    client = signed_in(place.lead)
    for answer in (client.get(path_of(made)), client.post(path_of(made), SENT)):
        assert answer.status_code == 403
        assert "for another address" in answer.text and "Sign out" in answer.text
        assert "nora@school.example" not in answer.text
    assert Invitation.objects.get().accepted_at is None


def test_every_link_that_opens_nothing_shows_one_and_the_same_page(place: Place) -> None:
    used, expired, revoked = (place.invited(f"{name}@school.example") for name in ("used", "expired", "revoked"))
    Client().post(path_of(used), SENT)
    Invitation.objects.filter(pk=expired.invitation.pk).update(expires_at=timezone.now() - timedelta(seconds=1))
    revoke(revoked.invitation)
    fresh = path_of(place.invited())
    tampered = [f"{fresh[:-2]}{'a' if fresh[-2] != 'a' else 'b'}/", "/invitation/x/", f"/invitation/{'x' * 3000}/"]
    pages = [Client().get(path) for path in [*map(path_of, (used, expired, revoked)), *tampered]]
    assert {page.status_code for page in pages} == {410}
    assert len({page.text.split("<main")[1] for page in pages}) == 1
    assert "@school.example" not in pages[0].text
    posts = [Client().post(path, SENT) for path in [*map(path_of, (used, expired, revoked)), *tampered]]
    assert {page.status_code for page in posts} == {410}


def test_nothing_of_it_is_kept_by_caches_and_the_secret_goes_to_no_other_site(place: Place) -> None:
    for path in (path_of(place.invited()), "/invitation/x/"):
        answer = Client().get(path)
        assert "no-store" in answer["Cache-Control"]
        assert answer["Referrer-Policy"] == "same-origin"


def test_accepting_needs_the_token_that_forms_carry(place: Place) -> None:
    made = place.invited()
    assert Client(enforce_csrf_checks=True).post(path_of(made), SENT).status_code == 403
    assert not Member.objects.filter(name="Nora").exists()


def test_coming_in_gives_the_session_a_new_key(place: Place) -> None:
    client = Client()
    session = client.session
    session["left by somebody"] = "x"
    session.save()
    before = session.session_key
    client.post(path_of(place.invited()), SENT)
    assert client.session.session_key != before


def test_a_closed_account_does_not_come_in_by_a_new_invitation(place: Place) -> None:
    nora = make.make_member("Nora", is_active=False)
    made = place.invited()
    assert "Sign in first" in Client().get(path_of(made)).text
    assert Client().post(path_of(made), SENT).status_code == 200
    assert not nora.team_roles.exists()
