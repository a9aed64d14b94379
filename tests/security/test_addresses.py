"""Changing the address one signs in with (OWASP ASVS 5.0, V6.3.7 and V7.5.1)."""

from allauth.account.models import EmailAddress
from django.core import mail
from django.test import Client

from teamroom.members.models import Member
from tests.factories import make_member
from tests.security.conftest import PHRASE, SignIn, link_in_letter, sent, show_it_is_me


def ask_for(client: Client, email: str) -> None:
    show_it_is_me(client)
    assert client.post("/account/e-mail/", {"action_add": "1", "email": email}).status_code == 302


def test_the_old_address_counts_until_the_new_one_is_confirmed_and_is_told(ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    ask_for(client, "New@School.example")
    [letter] = mail.outbox
    assert (letter.to, letter.subject) == (["new@school.example"], "Confirm your address")
    assert sent(Client(), ada.email, PHRASE) == 302
    link = link_in_letter()
    assert "Is this your address?" in client.get(link).text
    assert sent(Client(), "new@school.example", PHRASE) == 422
    client.post("/passphrase/lost/", {"email": "new@school.example"})
    assert "No account" in mail.outbox[-1].subject
    assert client.post(link)["Location"] == "/account/"
    ada.refresh_from_db()
    assert ada.email == "new@school.example"
    assert sent(Client(), "ada@school.example", PHRASE) == 422
    assert sent(Client(), "new@school.example", PHRASE) == 302
    told = mail.outbox[-1]
    assert (told.to, told.subject) == (["ada@school.example"], "Your address was changed")


def test_looking_at_the_link_confirms_nothing(ada: Member, sign_in: SignIn) -> None:
    """Programs that look through letters follow links."""
    ask_for(sign_in(ada), "new@school.example")
    Client().get(link_in_letter())
    ada.refresh_from_db()
    assert ada.email == "ada@school.example"


def test_the_address_of_another_is_not_taken_over(ada: Member, sign_in: SignIn) -> None:
    ben = make_member("Ben")
    client = sign_in(ada)
    ask_for(client, ben.email)
    answer = client.post(link_in_letter(), follow=True)
    assert answer.status_code == 200
    ada.refresh_from_db()
    assert ada.email == "ada@school.example"
    assert sent(Client(), ben.email, PHRASE) == 302


def test_a_change_can_be_taken_back(ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    ask_for(client, "new@school.example")
    link = link_in_letter()
    client.post("/account/e-mail/", {"action_remove": "1", "email": "new@school.example"})
    assert "confirms nothing any more" in client.get(link).text
    assert "is not confirmed yet" not in client.get("/account/e-mail/").text


def test_a_link_that_somebody_changed_confirms_nothing(ada: Member, sign_in: SignIn) -> None:
    ask_for(sign_in(ada), "new@school.example")
    link = link_in_letter()
    for changed in (link.replace(":", "::", 1), f"{link[:-2]}x/", "/account/e-mail/confirm/MQ:1:x/"):
        assert Client().post(changed).status_code == 404
    ada.refresh_from_db()
    assert ada.email == "ada@school.example"


def test_what_stands_in_a_form_besides_its_fields_changes_nothing(ada: Member, sign_in: SignIn) -> None:
    """Mass assignment: no form of an account takes what it does not show."""
    client = sign_in(ada)
    show_it_is_me(client)
    more = {"is_active": "", "pk": "1", "id": "1", "user": "1", "verified": "on", "primary": "on", "name": "Root"}
    client.post("/account/e-mail/", {"action_add": "1", "email": "new@school.example", **more})
    new = "kettle sparrow ladder plum"
    client.post("/account/passphrase/", {"oldpassword": PHRASE, "password1": new, "password2": new, **more})
    ada.refresh_from_db()
    assert (ada.name, ada.is_active, ada.email) == ("Ada", True, "ada@school.example")
    assert not EmailAddress.objects.get(email="new@school.example").verified
