"""People who sign in over HTTP as a browser does: with cookies, tokens and a passphrase."""

import re
from collections.abc import Callable

import pytest
from django.core import mail
from django.test import Client

from teamroom.members.models import Member
from tests.factories import make_member

PHRASE = "a long enough phrase"
NEW = "kettle sparrow ladder plum"
SignIn = Callable[..., Client]


@pytest.fixture
def ada(db: None) -> Member:
    return make_member("Ada")


def sent(client: Client, email: str, passphrase: str, **more: str) -> int:
    """The status of a sign-in that was sent: 302 lets in, 422 does not."""
    return client.post("/sign-in/", {"login": email, "password": passphrase, **more}).status_code


def is_in(client: Client) -> bool:
    """Whether this browser is signed in."""
    return client.get("/account/").status_code == 200


@pytest.fixture
def sign_in() -> SignIn:
    """A browser in which somebody has signed in with the passphrase."""

    def signed_in(member: Member, passphrase: str = PHRASE, **headers: str) -> Client:
        client = Client(headers=headers)
        assert sent(client, member.email, passphrase) == 302
        return client

    return signed_in


def show_it_is_me(client: Client, passphrase: str = PHRASE) -> None:
    """What is asked before something that matters."""
    assert client.post("/account/again/", {"password": passphrase}).status_code == 302


def link_in_letter(number: int = -1) -> str:
    """The path of the link in a letter that was sent."""
    found = re.search(r"https?://[^/\s]+(/\S+)", str(mail.outbox[number].body))
    assert found is not None
    return found[1]
