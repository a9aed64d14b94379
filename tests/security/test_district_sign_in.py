"""Signing in by the district's own OpenID Connect (OWASP ASVS 5.0, V6.8, V7.6 and V10.2)."""

import copy
import html
import re
from collections.abc import Iterator
from typing import Any

import pytest
from allauth.account.models import EmailAddress
from allauth.socialaccount.models import SocialAccount
from django.test import Client

from teamroom.members.models import Member
from tests.factories import make_member
from tests.launch.test_settings import TOLD, manage
from tests.security.conftest import SignIn, is_in
from tests.security.district import District, asked_for, district
from tests.security.test_second_step import turn_app_on


@pytest.fixture
def there(settings: Any) -> Iterator[District]:
    with district() as server:
        providers = copy.deepcopy(settings.SOCIALACCOUNT_PROVIDERS)
        providers["openid_connect"]["APPS"][0]["settings"]["server_url"] = server.address
        settings.SOCIALACCOUNT_PROVIDERS = providers
        yield server


def set_out(client: Client, there: District) -> dict[str, str]:
    """Press the button; what the browser is then sent to the district with."""
    page = client.post("/sign-in/with/school/?process=login")
    found = re.search(r'http-equiv="refresh" content="0;url=([^"]+)"', page.text)
    assert page.status_code == 200 and found is not None
    to = html.unescape(found[1])
    assert to.startswith(f"{there.address}/authorization_endpoint?")
    asked = asked_for(to)
    there.challenge = asked["code_challenge"]
    return asked


def come_back(client: Client, asked: dict[str, str], **more: str) -> Any:
    return client.get("/sign-in/with/school/back/", {"code": "c", "state": asked["state"], **more})


def test_a_member_whose_address_it_vouches_for_is_let_in(ada: Member, client: Client, there: District) -> None:
    asked = set_out(client, there)
    assert asked["redirect_uri"] == "http://testserver/sign-in/with/school/back/"
    assert asked["code_challenge_method"] == "S256"
    assert set(asked["scope"].split()) == {"openid", "profile", "email"}
    assert come_back(client, asked)["Location"] == "/"
    assert is_in(client)
    assert not SocialAccount.objects.exists()


def test_a_sign_in_that_cannot_be_reached_is_a_page_that_says_so(db: None, client: Client, there: District) -> None:
    there.shutdown()
    there.server_close()
    answer = client.post("/sign-in/with/school/?process=login")
    assert answer.status_code == 503
    assert "cannot be reached" in answer.text


@pytest.mark.parametrize(
    "claims",
    [
        {"email_verified": False},
        {"email_verified": "false"},
        {"email_verified": "true"},
        {"email_verified": 1},
        {"email_verified": None},
        {"email": "nobody@school.example"},
        {"email": ""},
        {"email": "ada@school.example.elsewhere.example"},
    ],
)
def test_nobody_else_is_let_in_and_no_account_is_made(
    ada: Member, client: Client, there: District, claims: dict[str, Any]
) -> None:
    there.claims |= claims
    answer = come_back(client, set_out(client, there))
    assert answer.status_code == 403
    assert "Nobody here has this address" in answer.text
    assert not is_in(client)
    assert list(Member.objects.all()) == [ada]


def test_a_claim_that_is_not_there_vouches_for_nothing(ada: Member, client: Client, there: District) -> None:
    del there.claims["email_verified"]
    assert come_back(client, set_out(client, there)).status_code == 403


def test_an_address_that_we_know_but_nobody_proved_is_not_enough(ada: Member, client: Client, there: District) -> None:
    EmailAddress.objects.update(verified=False)
    assert come_back(client, set_out(client, there)).status_code == 403


def test_a_closed_account_stays_closed(ada: Member, client: Client, there: District) -> None:
    Member.objects.update(is_active=False)
    assert come_back(client, set_out(client, there))["Location"] == "/sign-in/closed/"
    assert not is_in(client)


def test_the_second_step_is_asked_all_the_same(ada: Member, client: Client, there: District, sign_in: SignIn) -> None:
    turn_app_on(sign_in(ada))
    assert come_back(client, set_out(client, there))["Location"] == "/sign-in/code/"
    assert not is_in(client)


def test_an_answer_counts_only_in_the_browser_that_asked_and_once(ada: Member, client: Client, there: District) -> None:
    asked = set_out(client, there)
    other = Client()
    assert come_back(other, asked).status_code == 401
    assert not is_in(other)
    assert come_back(client, asked | {"state": "made up"}).status_code == 401
    assert come_back(client, asked).status_code == 302
    client.post("/sign-out/")
    assert come_back(client, asked).status_code == 401
    assert not is_in(client)


def test_what_it_says_wrong_is_a_page_and_no_fault_of_ours(ada: Member, client: Client, there: District) -> None:
    asked = set_out(client, there)
    there.challenge = "another"
    assert come_back(client, asked).status_code == 401
    asked = set_out(client, there)
    assert client.get("/sign-in/with/school/back/", {"error": "x", "state": asked["state"]}).status_code == 401
    asked = set_out(client, there)
    stopped = client.get("/sign-in/with/school/back/", {"error": "access_denied", "state": asked["state"]})
    assert stopped["Location"] == "/sign-in/elsewhere/cancelled/"
    assert "stopped there" in client.get(stopped["Location"]).text
    assert not is_in(client)


def test_only_pressing_the_button_sets_out(ada: Member, client: Client, there: District) -> None:
    """A picture or a link on another page must not sign anybody in."""
    shown = client.get("/sign-in/with/school/?process=login")
    assert shown.status_code == 200 and "Go on to the district" in shown.text
    assert there.asked == []


def test_it_cannot_be_tied_to_the_account_of_who_is_signed_in(ada: Member, there: District, sign_in: SignIn) -> None:
    ben = make_member("Ben")
    client = sign_in(ben)
    page = client.post("/sign-in/with/school/?process=connect")
    found = re.search(r"url=([^\"]+)\"", page.text)
    assert found is not None
    asked = asked_for(html.unescape(found[1]))
    there.challenge = asked["code_challenge"]
    assert come_back(client, asked)["Location"] == "/account/"
    assert not SocialAccount.objects.exists()


def test_without_the_environment_there_is_no_such_sign_in() -> None:
    show = "from django.urls import get_resolver as r; print('openid_connect_login' in r().reverse_dict)"
    assert manage("shell", "-v", "0", "-c", show, **TOLD).stdout == "False\n"


def test_half_of_the_environment_is_said_in_one_sentence() -> None:
    told = manage("check", **TOLD, OIDC_NAME="the district", OIDC_CLIENT_ID="teamroom")
    assert told.returncode == 1 and told.stderr.count("\n") == 1
    assert "OIDC_SERVER_URL and OIDC_CLIENT_SECRET" in told.stderr
