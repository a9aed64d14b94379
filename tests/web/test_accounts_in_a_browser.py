"""One's account in a browser: passkeys with a virtual key, the second step, and no accessibility fault on any page."""

import re
from typing import Any

import pytest
from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from django.core import mail
from playwright.sync_api import Page, expect

from teamroom.members.models import DistrictRole, Letter, Member
from tests.factories import make_coordinator, make_year
from tests.security.codes import code_of
from tests.web.conftest import OpenPage
from tests.web.looks import faults, sizes

PHRASE = "a long enough phrase"


@pytest.fixture
def cora(transactional_db: None) -> Member:
    return make_coordinator(make_year().school)


def with_virtual_key(page: Page) -> None:
    """A key inside Chromium that answers by itself, as the WebAuthn automation of WebDriver describes it."""
    devtools = page.context.new_cdp_session(page)
    devtools.send("WebAuthn.enable")
    devtools.send(
        "WebAuthn.addVirtualAuthenticator",
        {
            "options": {
                "protocol": "ctap2",
                "transport": "internal",
                "hasResidentKey": True,
                "hasUserVerification": True,
                "isUserVerified": True,
                "automaticPresenceSimulation": True,
            }
        },
    )


def too_wide(page: Page) -> list[str]:
    """On a phone the screen grows with what is too wide for it, so its own width is asked for."""
    size = page.viewport_size
    wide: int = page.evaluate("document.documentElement.scrollWidth")
    return [] if size and wide <= size["width"] else ["wider than the screen"]


def say_it_is_me(page: Page) -> None:
    expect(page.get_by_role("heading", name="Is it still you?")).to_be_visible()
    page.get_by_label("Passphrase").fill(PHRASE)
    page.get_by_role("button", name="Go on").click()


def test_a_passkey_is_made_renamed_used_to_sign_in_and_removed(open_page: OpenPage, cora: Member) -> None:
    page = open_page("/account/", cora)
    with_virtual_key(page)
    page.get_by_role("link", name="Add a passkey").click()
    say_it_is_me(page)
    page.get_by_label("Name").fill("My phone")
    page.get_by_role("button", name="Make the passkey").click()
    expect(page.get_by_role("heading", name="Recovery codes")).to_be_visible()
    expect(page.locator(".codes li")).to_have_count(10)
    page.get_by_role("link", name="I have them on paper").click()
    page.get_by_role("listitem").filter(has_text="Passkeys").get_by_role("link", name="See them").click()
    page.get_by_role("link", name="Rename My phone").click()
    page.get_by_label("Name").fill("My new phone")
    page.get_by_role("button", name="Keep this name").click()
    expect(page.get_by_text("My new phone").first).to_be_visible()

    page.get_by_role("button", name="Sign out").click()
    page.get_by_role("button", name="Use a passkey").click()
    expect(page.get_by_role("heading", name="Classrooms")).to_be_visible()

    page.goto(f"{page.url.rstrip('/')}/account/passkeys/")
    page.get_by_role("link", name="Remove My new phone").click()
    say_it_is_me(page)
    page.get_by_role("button", name="Remove the passkey").click()
    expect(page.get_by_text("it lets you in no more")).to_be_visible()
    assert not Authenticator.objects.exists()
    assert [letter.subject for letter in mail.outbox] == ["A passkey was added", "A passkey was removed"]


def test_after_the_passphrase_a_passkey_is_the_second_step(open_page: OpenPage, cora: Member) -> None:
    page = open_page("/account/passkeys/add/", cora)
    with_virtual_key(page)
    say_it_is_me(page)
    page.get_by_role("button", name="Make the passkey").click()
    expect(page.get_by_role("heading", name="Recovery codes")).to_be_visible()
    page.get_by_role("button", name="Sign out").click()
    page.get_by_label("E-mail address").fill(cora.email)
    page.get_by_label("Passphrase").fill(PHRASE)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="Second step")).to_be_visible()
    page.get_by_role("button", name="Use a passkey").click()
    expect(page.get_by_role("heading", name="Classrooms")).to_be_visible()


def test_the_keyboard_alone_turns_the_app_on_and_signs_in_with_it(open_page: OpenPage, cora: Member) -> None:
    page = open_page("/account/two-steps/app/", cora)
    page.get_by_label("Passphrase").focus()
    page.keyboard.type(PHRASE)
    page.keyboard.press("Enter")
    secret = page.locator(".secret").inner_text().replace(" ", "")
    page.get_by_label("Code the app shows").focus()
    page.keyboard.type(code_of(secret))
    page.keyboard.press("Enter")
    expect(page.locator(".codes li")).to_have_count(10)
    codes = page.locator(".codes li").all_inner_texts()
    page.get_by_role("button", name="Sign out").press("Enter")
    page.get_by_label("E-mail address").focus()
    page.keyboard.type(cora.email)
    page.keyboard.press("Tab")
    page.keyboard.type(PHRASE)
    page.keyboard.press("Enter")
    page.get_by_label("Code").focus()
    page.keyboard.type(codes[0])
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Classrooms")).to_be_visible()


def test_what_is_typed_can_be_shown_and_is_masked_again_when_it_is_sent(open_page: OpenPage, cora: Member) -> None:
    page = open_page("/sign-in/")
    typed = page.get_by_label("Passphrase")
    typed.fill("not this one")
    page.get_by_role("button", name="Show what is typed").click()
    expect(typed).to_have_attribute("type", "text")
    assert typed.input_value() == "not this one"
    page.get_by_role("button", name="Hide what is typed").click()
    expect(typed).to_have_attribute("type", "password")


def test_a_passphrase_can_be_pasted(open_page: OpenPage, cora: Member) -> None:
    page = open_page("/sign-in/", permissions=["clipboard-read", "clipboard-write"])
    page.evaluate("words => navigator.clipboard.writeText(words)", PHRASE)
    page.get_by_label("E-mail address").fill(cora.email)
    page.get_by_label("Passphrase").focus()
    page.keyboard.press("Control+V")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="Classrooms")).to_be_visible()


def test_a_lost_passphrase_is_replaced_by_the_link_without_scripts(open_page: OpenPage, cora: Member) -> None:
    page = open_page("/sign-in/", java_script_enabled=False)
    page.get_by_role("link", name="The passphrase is lost").click()
    page.get_by_label("E-mail address").fill(cora.email)
    page.get_by_role("button", name="Send the letter").click()
    expect(page.get_by_role("heading", name="A letter is on its way")).to_be_visible()
    found = re.search(r"http://\S+", str(mail.outbox[0].body))
    assert found is not None
    page.goto(found[0])
    page.get_by_label("New passphrase", exact=True).fill("kettle sparrow ladder plum")
    page.get_by_label("New passphrase, once more").fill("kettle sparrow ladder plum")
    page.get_by_role("button", name="Use the new passphrase").click()
    page.get_by_role("link", name="Sign in").click()
    page.get_by_label("E-mail address").fill(cora.email)
    page.get_by_label("Passphrase").fill("kettle sparrow ladder plum")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="Classrooms")).to_be_visible()


PAGES = [
    "/letters/",
    "/account/",
    "/account/e-mail/",
    "/account/passphrase/",
    "/account/sessions/",
    "/account/passkeys/",
    "/account/passkeys/add/",
    "/account/two-steps/",
    "/account/two-steps/app/",
]


@sizes
def test_axe_finds_nothing_on_the_pages_of_an_account(open_page: OpenPage, cora: Member, size: dict[str, Any]) -> None:
    page = open_page("/account/passkeys/add/", cora, **size)
    base = page.url.split("/account/")[0]
    found = {"again": faults(page)}
    say_it_is_me(page)
    EmailAddress.objects.create(user=cora, email="cora.new@school.example")
    for path in ["/account/e-mail/"]:
        page.goto(f"{base}{path}")
        found[f"{path} changing"] = faults(page) + too_wide(page)
    EmailAddress.objects.filter(email="cora.new@school.example").delete()
    DistrictRole.objects.create(member=cora)
    Letter.objects.create(to="ben@school.example", subject="An invitation", fault="The mail server is away", tries=2)
    for path in PAGES:
        page.goto(f"{base}{path}")
        found[path] = faults(page) + too_wide(page)
    secret = page.locator(".secret").inner_text().replace(" ", "")
    page.get_by_label("Code the app shows").fill(code_of(secret))
    page.get_by_role("button", name="Turn it on").click()
    expect(page.locator(".codes li")).to_have_count(10)
    found["codes"] = faults(page) + too_wide(page)
    page.get_by_role("button", name="Sign out").click()
    page.get_by_label("E-mail address").fill(cora.email)
    page.get_by_label("Passphrase").fill(PHRASE)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="Second step")).to_be_visible()
    expect(page.get_by_role("button", name="Use a passkey")).to_have_count(0)
    found["second step"] = faults(page) + too_wide(page)
    assert {path: some for path, some in found.items() if some} == {}


@sizes
def test_axe_finds_nothing_on_the_way_in(open_page: OpenPage, cora: Member, size: dict[str, Any]) -> None:
    page = open_page("/sign-in/", **size)
    base = page.url.split("/sign-in/")[0]
    found = {}
    for path in [
        "/sign-in/",
        "/sign-in/closed/",
        "/passphrase/lost/",
        "/passphrase/lost/sent/",
        "/passphrase/new/1-no/",
        "/passphrase/done/",
        "/account/e-mail/confirm/no/",
        "/sign-in/with/school/",
        "/sign-in/elsewhere/failed/",
    ]:
        page.goto(f"{base}{path}")
        found[path] = faults(page) + too_wide(page)
    assert {path: some for path, some in found.items() if some} == {}
