"""The second step and passkeys (OWASP ASVS 5.0, V6.3 to V6.7 and V7.5; RFC 6238; W3C Web Authentication)."""

import contextlib
import json
import re
import time
from io import StringIO
from typing import Any

import hypothesis
import pytest
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal import auth as clock
from django.core import mail
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.test import Client
from hypothesis import strategies as st

from teamroom.members.forms.second_step import NewPasskeyField, PasskeyField
from teamroom.members.models import Member
from teamroom.members.services.accounts import remove_second_steps
from tests.factories import make_member
from tests.security.codes import code_of
from tests.security.conftest import NEW, PHRASE, SignIn, is_in, link_in_letter, sent, show_it_is_me
from tests.security.soft_key import SoftKey

HTTPS: dict[str, Any] = {"secure": True}


def turn_app_on(client: Client) -> str:
    """The secret that the app now knows."""
    show_it_is_me(client)
    page = client.get("/account/two-steps/app/").text
    found = re.search(r'class="secret">([A-Z2-7 ]+)<', page)
    assert found is not None
    secret = found[1].replace(" ", "")
    assert client.post("/account/two-steps/app/", {"code": code_of(secret)}).status_code == 302
    return secret


def recovery_codes(client: Client) -> list[str]:
    return re.findall(r"<li><code>(\d+)</code>", client.get("/account/two-steps/codes/").text)


def forget_used_codes() -> None:
    """As when half a minute has passed."""
    from django.core.cache import cache

    cache.clear()


@pytest.mark.parametrize(
    ("at", "code"),
    [(59, "287082"), (1111111109, "081804"), (1111111111, "050471"), (1234567890, "005924"), (2000000000, "279037")],
)
def test_the_codes_of_these_tests_are_those_of_the_standard(at: int, code: str) -> None:
    """RFC 6238, appendix B, SHA-1 (the last six of the eight digits printed there)."""
    assert code_of("GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ", at) == code


def test_after_the_passphrase_a_code_is_asked_and_without_it_nobody_is_in(ada: Member, sign_in: SignIn) -> None:
    secret = turn_app_on(sign_in(ada))
    forget_used_codes()
    client = Client()
    answer = client.post("/sign-in/", {"login": ada.email, "password": PHRASE, "next": "/account/passkeys/"})
    assert answer["Location"] == "/sign-in/code/"
    assert not is_in(client)
    for path in ("/", "/account/two-steps/", "/account/again/"):
        assert client.get(path)["Location"].startswith("/sign-in/"), path
    wrong = client.post("/sign-in/code/", {"code": "000000"})
    assert wrong.status_code == 422 and "not the right one" in wrong.text
    assert client.post("/sign-in/code/", {"code": code_of(secret)})["Location"] == "/account/passkeys/"
    assert is_in(client)


def test_a_code_works_once_and_only_in_its_half_minute(ada: Member, sign_in: SignIn) -> None:
    secret = turn_app_on(sign_in(ada))
    forget_used_codes()
    first, second = Client(), Client()
    code = code_of(secret)
    for client in (first, second):
        sent(client, ada.email, PHRASE)
    assert first.post("/sign-in/code/", {"code": code}).status_code == 302
    assert second.post("/sign-in/code/", {"code": code}).status_code == 422
    for seconds in (-60, 60):
        assert second.post("/sign-in/code/", {"code": code_of(secret, time.time() + seconds)}).status_code == 422


def test_codes_cannot_be_guessed_by_trying(ada: Member, sign_in: SignIn) -> None:
    secret = turn_app_on(sign_in(ada))
    forget_used_codes()
    client = Client()
    sent(client, ada.email, PHRASE)
    for _ in range(5):
        client.post("/sign-in/code/", {"code": "000000"})
    answer = client.post("/sign-in/code/", {"code": code_of(secret)})
    assert answer.status_code == 422 and "too many tries" in answer.text


def test_secrets_of_the_second_step_cannot_be_read_from_the_database(ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    secret = turn_app_on(client)
    assert secret not in json.dumps(list(Authenticator.objects.values_list("data", flat=True)))
    assert len({secret, *(clock.generate_totp_secret() for _ in range(50))}) == 51


def test_recovery_codes_are_shown_once_and_each_lets_in_once(ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    turn_app_on(client)
    codes = recovery_codes(client)
    assert len(set(codes)) == 10
    # 8 random digits are 26 bits; ASVS 6.5.4 asks for 20.
    assert {len(code) for code in codes} == {8}
    again = client.get("/account/two-steps/codes/").text
    assert not any(code in again for code in codes) and "cannot be shown again" in again
    for status in (302, 422):
        other = Client()
        sent(other, ada.email, PHRASE)
        assert other.post("/sign-in/code/", {"code": codes[0]}).status_code == status
    assert "9 recovery codes left" in client.get("/account/").text


def test_new_recovery_codes_make_the_old_ones_worthless(ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    turn_app_on(client)
    old = recovery_codes(client)
    client.post("/account/two-steps/codes/new/")
    assert not set(old) & set(recovery_codes(client))
    other = Client()
    sent(other, ada.email, PHRASE)
    assert other.post("/sign-in/code/", {"code": old[0]}).status_code == 422


def test_a_lost_passphrase_replaced_by_letter_does_not_go_round_the_second_step(ada: Member, sign_in: SignIn) -> None:
    turn_app_on(sign_in(ada))
    client = Client()
    client.post("/passphrase/lost/", {"email": ada.email})
    client.post(client.get(link_in_letter())["Location"], {"password1": NEW, "password2": NEW})
    assert not is_in(client)
    assert client.post("/sign-in/", {"login": ada.email, "password": NEW})["Location"] == "/sign-in/code/"


@pytest.mark.parametrize(
    ("path", "data"),
    [
        ("/account/e-mail/", {"action_add": "1", "email": "new@school.example"}),
        ("/account/two-steps/app/", {"code": "123456"}),
        ("/account/passkeys/add/", {"name": "x", "credential": "{}"}),
    ],
)
def test_nothing_that_decides_who_gets_in_changes_before_one_shows_who_one_is(
    ada: Member, sign_in: SignIn, path: str, data: dict[str, str]
) -> None:
    client = sign_in(ada)
    assert client.post(path, data)["Location"].startswith("/account/again/")
    assert mail.outbox == [] and not Authenticator.objects.exists()


def test_five_minutes_later_it_is_asked_again(ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    turn_app_on(client)
    session = client.session
    for record in session["account_authentication_methods"]:
        record["at"] -= 5 * 60 + 1
    session.save()
    for path in ("/account/two-steps/app/off/", "/account/two-steps/codes/new/"):
        assert client.post(path)["Location"].startswith("/account/again/"), path
    assert Authenticator.objects.count() == 2


def test_each_change_is_told_by_letter(transactional_db: None, ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    turn_app_on(client)
    client.post("/account/two-steps/codes/new/")
    client.post("/account/two-steps/app/off/")
    subjects = ["The second step is on", "New recovery codes", "An app with codes was turned off"]
    assert [letter.subject for letter in mail.outbox] == subjects
    assert all(letter.to == [ada.email] and "Hello Ada" in str(letter.body) for letter in mail.outbox)


def test_who_lost_everything_is_let_in_again_by_somebody_who_knows_them(ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    turn_app_on(client)
    assert remove_second_steps(ada) == 2
    assert not is_in(client)
    assert sent(Client(), ada.email, PHRASE) == 302


# Passkeys


def options(client: Client) -> dict[str, Any]:
    answer = client.get("/sign-in/passkey/", headers={"accept": "application/json"}, **HTTPS)
    told: dict[str, Any] = answer.json()["request_options"]["publicKey"]
    return told


def add_passkey(member: Member, key: SoftKey) -> str:
    """Make the key known, over HTTPS; the handle under which it knows the account."""
    client = Client()
    data = {"login": member.email, "password": PHRASE}
    assert client.post("/sign-in/", data, **HTTPS).status_code == 302
    assert client.post("/account/again/", {"password": PHRASE}, **HTTPS).status_code == 302
    page = client.get("/account/passkeys/add/", **HTTPS).text
    found = re.search(r'id="passkey-options" type="application/json">(.*?)</script>', page, re.S)
    assert found is not None
    asked = json.loads(found[1])["creation_options"]["publicKey"]
    data = {"name": "Key", "passwordless": "on", "credential": json.dumps(key.made(asked["challenge"]))}
    assert client.post("/account/passkeys/add/", data, **HTTPS).status_code == 302
    from fido2.utils import websafe_decode

    return websafe_decode(asked["user"]["id"]).decode()


def sign_in_by(key: SoftKey, handle: str, client: Client | None = None, challenge: str = "") -> Client:
    client = client or Client()
    challenge = challenge or options(client)["challenge"]
    client.post("/sign-in/passkey/", {"credential": json.dumps(key.used(challenge, handle))}, **HTTPS)
    return client


def is_in_by_https(client: Client) -> bool:
    return client.get("/account/", **HTTPS).status_code == 200


def test_a_passkey_alone_lets_in_and_is_two_factors_in_one(ada: Member) -> None:
    key = SoftKey()
    handle = add_passkey(ada, key)
    assert is_in_by_https(sign_in_by(key, handle))


def test_the_challenge_is_long_fresh_and_asks_the_devices_own_lock(db: None) -> None:
    from fido2.utils import websafe_decode

    told = [options(Client()) for _ in range(20)]
    challenges = {websafe_decode(each["challenge"]) for each in told}
    # ASVS 6.7.2 asks for 64 bits.
    assert len(challenges) == 20 and all(len(each) >= 16 for each in challenges)
    assert all(each["userVerification"] == "required" for each in told)
    # Nothing about who has which key.
    assert not any(each.get("allowCredentials") for each in told)


def test_an_answer_to_another_challenge_or_from_another_place_lets_nobody_in(ada: Member) -> None:
    key = SoftKey()
    handle = add_passkey(ada, key)
    old = options(Client())["challenge"]
    assert not is_in_by_https(sign_in_by(key, handle, challenge=old))
    key.origin = "https://testserver.elsewhere.example"
    assert not is_in_by_https(sign_in_by(key, handle))
    key.origin, key.host = "https://testserver", "elsewhere.example"
    assert not is_in_by_https(sign_in_by(key, handle))


def test_an_answer_lets_in_once(ada: Member) -> None:
    key = SoftKey()
    handle = add_passkey(ada, key)
    client = Client()
    challenge = options(client)["challenge"]
    sign_in_by(key, handle, client, challenge)
    client.post("/sign-out/", **HTTPS)
    assert not is_in_by_https(sign_in_by(key, handle, client, challenge))


def test_another_key_or_a_foreign_account_lets_nobody_in(ada: Member) -> None:
    key = SoftKey()
    handle = add_passkey(ada, key)
    assert not is_in_by_https(sign_in_by(SoftKey(), handle))
    other = SoftKey(name=b"o" * 32)
    others_handle = add_passkey(make_member("Ben"), other)
    assert not is_in_by_https(sign_in_by(key, others_handle))
    assert not is_in_by_https(sign_in_by(other, handle))


@pytest.mark.parametrize("said", ["", "{}", "[]", "null", '"x"', '{"id": 1}', '{"response": {"userHandle": "!"}}', "{"])
def test_nonsense_instead_of_a_key_is_refused_calmly(ada: Member, said: str) -> None:
    client = Client()
    options(client)
    answer = client.post("/sign-in/passkey/", {"credential": said}, **HTTPS)
    assert (answer.status_code, answer["Location"]) == (302, "/sign-in/")
    assert not is_in_by_https(client)


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.text(max_size=8)
    | st.sampled_from(["AAAA", "e30", "o2Nm", "aaaaaaaa"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(["id", "rawId", "type", "response", "clientExtensionResults"]), inner)
        | st.dictionaries(
            st.sampled_from(["clientDataJSON", "attestationObject", "authenticatorData", "signature"]), inner
        )
    ),
    max_leaves=12,
)


@hypothesis.given(JSON)
@hypothesis.example({"id": "AAAA", "rawId": "AAAA", "type": "public-key", "response": {"clientDataJSON": "e30"}})
def test_no_nonsense_whatever_gets_further_than_the_field(said: Any) -> None:
    for field in (PasskeyField(), NewPasskeyField()):
        with contextlib.suppress(ValidationError):
            field.what.from_dict(field.clean(json.dumps(said)))


def test_a_true_answer_with_one_byte_changed_is_no_fault_of_ours(ada: Member) -> None:
    key = SoftKey()
    handle = add_passkey(ada, key)
    for part in ("clientDataJSON", "authenticatorData", "signature", "userHandle"):
        client = Client()
        said = key.used(options(client)["challenge"], handle)
        for changed in (said["response"][part][:-4], "AAAA" + said["response"][part][4:]):
            said["response"][part] = changed
            answer = client.post("/sign-in/passkey/", {"credential": json.dumps(said)}, **HTTPS)
            assert answer.status_code == 302, part
            assert not is_in_by_https(client)


def test_a_closed_account_is_not_opened_by_its_key(ada: Member) -> None:
    key = SoftKey()
    handle = add_passkey(ada, key)
    Member.objects.update(is_active=False)
    assert not is_in_by_https(sign_in_by(key, handle))


def test_a_key_that_is_removed_lets_in_no_more(ada: Member) -> None:
    key = SoftKey()
    handle = add_passkey(ada, key)
    client = sign_in_by(key, handle)
    client.post("/account/again/", {"password": PHRASE}, **HTTPS)
    pk = Authenticator.objects.get(type=Authenticator.Type.WEBAUTHN).pk
    client.post(f"/account/passkeys/{pk}/remove/", **HTTPS)
    assert not is_in_by_https(sign_in_by(key, handle))


def test_nobody_sees_renames_or_removes_anothers_key(ada: Member) -> None:
    add_passkey(ada, SoftKey())
    pk = Authenticator.objects.get(type=Authenticator.Type.WEBAUTHN).pk
    client = Client()
    ben = make_member("Ben")
    sent(client, ben.email, PHRASE)
    show_it_is_me(client)
    for verb in ("rename", "remove"):
        assert client.get(f"/account/passkeys/{pk}/{verb}/").status_code == 404
        assert client.post(f"/account/passkeys/{pk}/{verb}/", {"name": "mine"}).status_code == 404
    assert "Key" not in client.get("/account/passkeys/").text.replace("Passkeys", "")


def test_the_console_takes_it_off_and_says_whose(ada: Member, sign_in: SignIn) -> None:
    turn_app_on(sign_in(ada))
    told = StringIO()
    call_command("drop_second_step", "ADA@school.example", stdout=told)
    assert "the passphrase alone lets Ada in" in told.getvalue()
    assert sent(Client(), ada.email, PHRASE) == 302
    for address, sentence in (("ada@school.example", "no second step"), ("ade@school.example", "did you mean")):
        with pytest.raises(CommandError, match=sentence):
            call_command("drop_second_step", address)
