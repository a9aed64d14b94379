"""How long a session lasts, and what ends it (OWASP ASVS 5.0, V7)."""

import time
from typing import Any

import pytest
from allauth.usersessions.models import UserSession
from django.conf import settings as project
from django.contrib.sessions.models import Session
from django.core import mail
from django.test import Client

from teamroom.members.models import Member
from teamroom.members.services.accounts import end_sessions, forget_sessions
from teamroom.members.session_limits import BEGAN, SEEN
from tests.factories import make_member
from tests.security.conftest import NEW, PHRASE, SignIn, is_in, link_in_letter, sent, show_it_is_me

DAY = 24 * 60 * 60


def key_of(client: Client) -> str:
    return client.cookies[project.SESSION_COOKIE_NAME].value


def aged(client: Client, **seconds: float) -> None:
    """Make the session older than it is."""
    session = client.session
    for key, age in seconds.items():
        session[{"began": BEGAN, "seen": SEEN}[key]] = time.time() - age
    session.save()


def test_signing_in_gives_a_new_key_so_that_a_planted_one_opens_nothing(ada: Member) -> None:
    planted = Client()
    session = planted.session
    session["anything"] = "from before"
    session.save()
    before = key_of(planted)
    assert sent(planted, ada.email, PHRASE) == 302
    assert key_of(planted) != before
    thief = Client()
    thief.cookies[project.SESSION_COOKIE_NAME] = before
    assert not is_in(thief)
    assert not Session.objects.filter(session_key=before).exists()


def test_a_key_somebody_made_up_is_not_taken_over(ada: Member, client: Client) -> None:
    client.cookies[project.SESSION_COOKIE_NAME] = "made-up-by-somebody-0123456789abc"
    assert sent(client, ada.email, PHRASE) == 302
    assert key_of(client) != "made-up-by-somebody-0123456789abc"


def test_keys_are_long_and_never_alike(ada: Member, sign_in: SignIn) -> None:
    """Django draws 32 of 36 signs by `secrets`: 165 bits, where ASVS 7.2.3 asks for 128."""
    keys = {key_of(sign_in(ada)) for _ in range(5)}
    assert len(keys) == 5
    assert all(len(key) == 32 and key.isalnum() for key in keys)


def test_showing_that_it_is_still_oneself_gives_a_new_key_too(ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    before = key_of(client)
    show_it_is_me(client)
    assert key_of(client) != before
    assert not Session.objects.filter(session_key=before).exists()
    assert list(UserSession.objects.values_list("session_key", flat=True)) == [key_of(client)]


def test_scripts_cannot_read_the_cookie_and_other_sites_cannot_send_it(ada: Member, sign_in: SignIn) -> None:
    cookie = sign_in(ada).cookies[project.SESSION_COOKIE_NAME]
    assert cookie["httponly"] is True
    assert cookie["samesite"] == "Lax"


def test_the_cookie_goes_with_the_browser_unless_one_asked_to_stay(ada: Member) -> None:
    passing, staying = Client(), Client()
    sent(passing, ada.email, PHRASE)
    sent(staying, ada.email, PHRASE, remember="on")
    assert passing.cookies[project.SESSION_COOKIE_NAME]["max-age"] == ""
    assert staying.cookies[project.SESSION_COOKIE_NAME]["max-age"] == DAY


def test_a_day_without_a_request_ends_it(ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    left = Session.objects.get(session_key=key_of(client)).get_decoded()
    ends = Session.objects.get(session_key=key_of(client)).expire_date.timestamp()
    assert ends == pytest.approx(left[SEEN] + DAY, abs=5)
    Session.objects.update(expire_date="2020-01-01T00:00Z")
    assert not is_in(client)


def test_use_puts_that_off_but_not_with_every_request(ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    is_in(client)
    written = Session.objects.get().expire_date
    is_in(client)
    assert Session.objects.get().expire_date == written
    aged(client, seen=6 * 60)
    written = Session.objects.get().expire_date
    is_in(client)
    assert Session.objects.get().expire_date > written


@pytest.mark.parametrize(
    ("path", "headers"), [("/live/positions/?topic=year-1", {}), ("/", {"X-By-Itself": "1"})], ids=["path", "header"]
)
def test_what_an_open_page_asks_by_itself_is_no_use(
    ada: Member, sign_in: SignIn, path: str, headers: dict[str, str]
) -> None:
    client = sign_in(ada)
    aged(client, seen=6 * 60)
    written = Session.objects.get().expire_date
    client.get(path, headers=headers)
    assert Session.objects.get().expire_date == written


def test_two_weeks_end_it_however_much_it_is_used(ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    aged(client, began=14 * DAY - 60)
    assert is_in(client)
    key = key_of(client)
    aged(client, began=14 * DAY + 60)
    assert not is_in(client)
    assert not Session.objects.filter(session_key=key).exists()


def test_signing_out_ends_it_on_the_server(ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    kept = Client()
    kept.cookies[project.SESSION_COOKIE_NAME] = key_of(client)
    assert is_in(kept)
    client.post("/sign-out/")
    assert not is_in(client) and not is_in(kept)


def test_a_link_alone_signs_nobody_out(ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    assert "Sign out?" in client.get("/sign-out/").text
    assert is_in(client)


def test_every_page_of_a_member_has_the_way_out_and_is_kept_by_no_cache(ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    for path in ("/", "/account/", "/account/sessions/", "/account/two-steps/", "/account/passphrase/"):
        answer = client.get(path)
        assert 'action="/sign-out/"' in answer.text, path
        assert "no-store" in answer["Cache-Control"], path


def test_a_new_passphrase_ends_all_sessions_but_this_one(ada: Member, sign_in: SignIn) -> None:
    here, there = sign_in(ada), sign_in(ada)
    before = key_of(here)
    data = {"oldpassword": PHRASE, "password1": NEW, "password2": NEW}
    assert here.post("/account/passphrase/", data)["Location"] == "/account/"
    assert is_in(here) and not is_in(there)
    assert key_of(here) != before
    assert [letter.subject for letter in mail.outbox] == ["Your passphrase was changed"]


def test_a_new_passphrase_by_the_letters_link_ends_them_all(ada: Member, sign_in: SignIn) -> None:
    there, client = sign_in(ada), Client()
    client.post("/passphrase/lost/", {"email": ada.email})
    form = client.get(link_in_letter())["Location"]
    client.post(form, {"password1": NEW, "password2": NEW})
    assert not is_in(there) and not is_in(client)
    assert sent(client, ada.email, NEW) == 302


def test_closing_an_account_ends_its_sessions_for_good(ada: Member, sign_in: SignIn) -> None:
    used, unused = sign_in(ada), sign_in(ada)
    Member.objects.update(is_active=False)
    assert not is_in(used)
    assert end_sessions(ada) == 2
    Member.objects.update(is_active=True)
    assert not is_in(used) and not is_in(unused)


def test_one_sees_ones_own_sessions_and_nobody_elses(ada: Member, sign_in: SignIn) -> None:
    sign_in(make_member("Ben"), **{"user-agent": "Ben's browser"})
    sign_in(ada, **{"user-agent": "The library's browser"})
    shown = sign_in(ada, **{"user-agent": "This browser"}).get("/account/sessions/").text
    assert "The library&#x27;s browser" in shown and "This browser" in shown
    assert "Ben" not in shown


def test_signing_out_everywhere_else_asks_who_one_is_and_then_does_it(ada: Member, sign_in: SignIn) -> None:
    here, there = sign_in(ada), sign_in(ada)
    asked = here.post("/account/sessions/")
    assert asked["Location"].startswith("/account/again/")
    assert is_in(there)
    here.post(asked["Location"], {"password": PHRASE})
    assert is_in(here) and not is_in(there)


def test_what_is_known_of_a_browser_is_forgotten_with_its_session(ada: Member, sign_in: SignIn) -> None:
    sign_in(ada)
    going_on = key_of(sign_in(ada))
    Session.objects.exclude(session_key=going_on).update(expire_date="2020-01-01T00:00Z")
    forget_sessions()
    assert [session.session_key for session in UserSession.objects.all()] == [going_on]


def test_on_a_server_the_cookies_names_bind_them_to_it(settings: Any) -> None:
    from tests.launch.test_settings import TOLD, manage

    show = (
        "from django.conf import settings as s;"
        "print(s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME, s.SESSION_COOKIE_SECURE, s.CSRF_COOKIE_SECURE)"
    )
    assert manage("shell", "-v", "0", "-c", show, **TOLD).stdout == "__Host-sessionid __Host-csrftoken True True\n"
