"""Signing in against who should not get in (OWASP ASVS 5.0, V6.3; WSTG on enumeration, brute force, redirects)."""

import re
from typing import Any

import pytest
from django.contrib.auth.hashers import make_password
from django.core import mail
from django.test import Client
from django.urls import NoReverseMatch, reverse

from teamroom.members.models import Member
from tests.factories import make_member
from tests.security.conftest import PHRASE, SignIn, is_in, sent, show_it_is_me

WRONG = "not the right phrase"
SLOW = "django.contrib.auth.hashers.PBKDF2PasswordHasher"


def without_tokens(page: str) -> str:
    """A page without what differs each time: its tokens, and the address that was typed."""
    page = re.sub(r"[\w.-]+@[\w.-]+", "ADDRESS", page)
    return re.sub(r'(csrfmiddlewaretoken" value|X-CSRFToken"|nonce)[=:]"[^"]+"', "", page)


@pytest.mark.parametrize("email", ["ada@school.example", "nobody@school.example", "closed@school.example"])
def test_a_wrong_passphrase_is_answered_alike_whoever_has_the_address(ada: Member, client: Client, email: str) -> None:
    make_member("Closed", is_active=False)
    answer = client.post("/sign-in/", {"login": email, "password": WRONG})
    other = Client().post("/sign-in/", {"login": "somebody@elsewhere.example", "password": WRONG})
    assert answer.status_code == other.status_code == 422
    assert without_tokens(answer.text) == without_tokens(other.text)
    assert "do not belong together" in answer.text


def test_an_address_nobody_has_costs_as_much_work_as_one_that_somebody_has(
    settings: Any, ada: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So that the time an answer takes tells nothing: a passphrase is hashed either way, and once."""
    settings.PASSWORD_HASHERS = [SLOW]
    Member.objects.filter(pk=ada.pk).update(password=make_password(PHRASE))
    hashed = []
    encode = "django.contrib.auth.hashers.PBKDF2PasswordHasher.encode"

    def counted(self: object, password: str, *rest: Any) -> str:
        hashed.append(password)
        return "pbkdf2_sha256$1$salt$hash"

    monkeypatch.setattr(encode, counted)
    for email in ("ada@school.example", "nobody@school.example"):
        hashed.clear()
        assert sent(Client(), email, WRONG) == 422
        assert hashed == [WRONG], email


@pytest.mark.parametrize("email", ["ada@school.example", "nobody@school.example", "closed@school.example"])
def test_a_lost_passphrase_is_answered_alike_and_each_address_gets_one_letter(
    ada: Member, client: Client, email: str
) -> None:
    make_member("Closed", is_active=False)
    answer = client.post("/passphrase/lost/", {"email": email})
    assert (answer.status_code, answer["Location"]) == (302, reverse("account_reset_password_done"))
    [letter] = mail.outbox
    assert letter.to == [email]
    assert ("/passphrase/new/" in str(letter.body)) == (email == ada.email)


def test_changing_to_an_address_that_somebody_has_is_answered_as_any_other(ada: Member, sign_in: SignIn) -> None:
    make_member("Ben")
    answers = []
    for email in ("ben@school.example", "free@school.example"):
        client = sign_in(ada)
        show_it_is_me(client)
        answer = client.post("/account/e-mail/", {"action_add": "1", "email": email}, follow=True)
        answers.append((answer.status_code, without_tokens(answer.text)))
        mail.outbox.clear()
    assert answers[0][0] == answers[1][0] == 200
    assert "is not confirmed yet" in answers[0][1] and "is not confirmed yet" in answers[1][1]


def test_sign_up_is_closed_and_has_no_address(ada: Member, client: Client) -> None:
    for path in ("/sign-up/", "/signup/", "/accounts/signup/", "/account/signup/", "/sign-in/elsewhere/signup/"):
        assert client.get(path).status_code == client.post(path).status_code == 404, path
    for name in ("account_signup", "socialaccount_signup", "account_signup_by_passkey"):
        with pytest.raises(NoReverseMatch):
            reverse(name)


def test_there_are_no_people_that_nobody_brought_in(db: None) -> None:
    assert not Member.objects.exists()


def test_letters_case_does_not_matter_in_the_address_and_does_in_the_passphrase(ada: Member) -> None:
    assert sent(Client(), "ADA@School.Example", PHRASE) == 302
    assert sent(Client(), ada.email, PHRASE.upper()) == 422


@pytest.mark.parametrize("passphrase", [f" {PHRASE}", f"{PHRASE} ", PHRASE[:-1], f"{PHRASE}x", PHRASE[:15]])
def test_a_passphrase_counts_exactly_as_it_was_chosen(ada: Member, passphrase: str) -> None:
    assert sent(Client(), ada.email, passphrase) == 422


def test_an_account_that_is_closed_lets_nobody_in_and_says_so_to_who_has_the_passphrase(ada: Member) -> None:
    Member.objects.update(is_active=False)
    client = Client()
    answer = client.post("/sign-in/", {"login": ada.email, "password": PHRASE}, follow=True)
    assert "This account is closed" in answer.text
    assert not is_in(client)


def test_a_sign_in_without_the_pages_token_is_refused(ada: Member) -> None:
    client = Client(enforce_csrf_checks=True)
    client.get("/sign-in/")
    assert sent(client, ada.email, PHRASE) == 403
    assert not is_in(client)
    token = client.cookies["csrftoken"].value
    assert sent(client, ada.email, PHRASE, csrfmiddlewaretoken=token) == 302


@pytest.mark.parametrize(
    "path",
    ["/sign-out/", "/passphrase/lost/", "/account/passphrase/", "/account/e-mail/", "/account/sessions/"]
    + ["/account/again/", "/sign-in/passkey/", "/letters/again/", "/sign-in/with/school/"],
)
def test_nothing_is_taken_from_another_site(ada: Member, path: str) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(ada)
    assert client.post(path, {"email": "evil@elsewhere.example"}).status_code == 403


@pytest.mark.parametrize(
    "to",
    ["https://elsewhere.example/", "//elsewhere.example/", "/\\elsewhere.example/", "javascript:alert(1)"]
    + [
        "https:elsewhere.example",
        "http://testserver@elsewhere.example/",
        "\thttps://elsewhere.example/",
        "///elsewhere",
    ],
)
def test_nobody_is_led_to_another_place_after_signing_in_or_out(ada: Member, to: str) -> None:
    def leads_home(answer: Any) -> bool:
        return answer.status_code == 302 and answer["Location"] in ("/", "/sign-in/")

    client = Client()
    assert leads_home(client.post("/sign-in/", {"login": ada.email, "password": PHRASE, "next": to}))
    assert leads_home(client.get("/sign-in/", {"next": to}))
    assert leads_home(client.post("/account/again/", {"password": PHRASE, "next": to}))
    assert leads_home(client.post("/sign-out/", {"next": to}))


def test_a_forged_host_gets_no_letter_written(settings: Any, ada: Member, client: Client) -> None:
    settings.ALLOWED_HOSTS = ["teamroom.example"]
    answer = client.post("/passphrase/lost/", {"email": ada.email}, headers={"host": "elsewhere.example"})
    assert answer.status_code == 400
    assert mail.outbox == []


def test_five_wrong_passphrases_stop_the_guessing_even_of_the_right_one(ada: Member) -> None:
    for number in range(5):
        # From everywhere, so that it is the account that counts.
        client = Client(REMOTE_ADDR=f"192.0.2.{number}")
        assert sent(client, ada.email, WRONG) == 422
    stopped = Client(REMOTE_ADDR="192.0.2.99").post("/sign-in/", {"login": ada.email, "password": PHRASE})
    assert stopped.status_code == 422
    assert "too many tries" in stopped.text


def test_an_address_nobody_has_is_stopped_in_the_same_way(ada: Member) -> None:
    pages = []
    for email in (ada.email, "nobody@school.example"):
        for number in range(5):
            sent(Client(REMOTE_ADDR=f"192.0.2.{number}"), email, WRONG)
        answer = Client(REMOTE_ADDR="192.0.2.9").post("/sign-in/", {"login": email, "password": WRONG})
        pages.append(without_tokens(answer.text))
    assert pages[0] == pages[1]


def test_who_is_kept_out_by_anothers_guessing_comes_in_by_the_letters_link(ada: Member) -> None:
    from tests.security.conftest import NEW, link_in_letter

    for _ in range(5):
        sent(Client(), ada.email, WRONG)
    client = Client(REMOTE_ADDR="192.0.2.7")
    client.post("/passphrase/lost/", {"email": ada.email})
    form = client.get(link_in_letter())["Location"]
    client.post(form, {"password1": NEW, "password2": NEW})
    assert sent(client, ada.email, NEW) == 302


def test_one_place_can_try_only_so_many_accounts(ada: Member) -> None:
    """Credential stuffing: each account once."""
    for number in range(20):
        assert sent(Client(), f"person{number}@school.example", WRONG) == 422
    assert "too many tries" in Client().post("/sign-in/", {"login": ada.email, "password": WRONG}).text
    assert sent(Client(REMOTE_ADDR="192.0.2.1"), ada.email, PHRASE) == 302


def test_a_forged_header_makes_no_other_place_of_it(ada: Member) -> None:
    for number in range(20):
        client = Client(headers={"x-forwarded-for": f"198.51.100.{number}"})
        sent(client, f"person{number}@school.example", WRONG)
    answer = Client(headers={"x-forwarded-for": "198.51.100.200"}).post(
        "/sign-in/", {"login": ada.email, "password": WRONG}
    )
    assert "too many tries" in answer.text


def test_behind_a_proxy_its_own_word_counts_and_what_the_browser_put_before_does_not(
    settings: Any, ada: Member
) -> None:
    settings.ALLAUTH_TRUSTED_PROXY_COUNT = 1

    def tried(number: int, place: str) -> str:
        headers = {"x-forwarded-for": f"198.51.100.{number}, {place}"}
        return Client(headers=headers).post("/sign-in/", {"login": f"p{number}@x.example", "password": WRONG}).text

    for number in range(20):
        assert "too many tries" not in tried(number, "203.0.113.5")
    assert "too many tries" in tried(20, "203.0.113.5")
    assert "too many tries" not in tried(21, "203.0.113.6")


def test_letters_for_one_address_are_not_sent_without_end(ada: Member, client: Client) -> None:
    answers = [client.post("/passphrase/lost/", {"email": ada.email}).status_code for _ in range(4)]
    assert answers == [302, 302, 302, 429]
    assert len(mail.outbox) == 3
    shown = client.post("/passphrase/lost/", {"email": ada.email})
    assert "That was too often" in shown.text
