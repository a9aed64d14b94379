"""Every page of accounts: our own look, and a content security policy without a gap."""

import re
from pathlib import Path

import allauth
import pytest
from allauth.mfa.models import Authenticator
from django.conf import settings
from django.template.loader import get_template
from django.test import Client
from django.urls import get_resolver, reverse

from teamroom.members.models import Member
from tests.access_rows import signing_in
from tests.access_rows.world import make_world
from tests.security.conftest import SignIn, show_it_is_me

LIBRARY = Path(allauth.__file__).parent
# What no address of ours leads to: signing up, codes by letter or telephone, tying accounts together.
UNUSED = re.compile(
    r"signup(?!_closed)|phone|sms|login_code|_code|confirm_login|already_exists|by_passkey|trust|connect|download|openid/"
    r"|login_redirect|base|snippets|account/email\.html|email_confirm_(message|subject)|warn_no|verified_email_required"
)
POLICY = {
    "default-src 'self'",
    "style-src 'self'",
    "base-uri 'self'",
    "form-action 'self'",
    "object-src 'none'",
    "frame-ancestors 'none'",
    "style-src-attr 'unsafe-inline'",
    "img-src 'self' data:",
}


def templates() -> list[str]:
    """Every template that the library may render on the way that our addresses lead."""
    folder = LIBRARY / "templates"
    found = [str(path.relative_to(folder)) for path in folder.rglob("*.*")]
    ours = [name for name in found if name.split("/")[0] in ("account", "mfa", "usersessions", "socialaccount")]
    return sorted(name for name in ours if not UNUSED.search(name))


@pytest.mark.parametrize("name", templates())
def test_each_template_of_the_library_has_one_of_ours_in_its_place(name: str) -> None:
    origin = get_template(name).origin.name  # type: ignore[attr-defined]  # Django's own templates have one
    assert Path(origin).is_relative_to(settings.BASE_DIR / "templates"), origin


def test_every_view_of_the_library_hangs_at_an_address_that_we_chose() -> None:
    chosen = {name for name, _ in signing_in.ROWS}
    resolved = {name for name in get_resolver().reverse_dict if isinstance(name, str)}
    assert {name for name in resolved if name.startswith(("account_", "mfa_", "socialaccount_"))} <= chosen


def test_every_page_has_the_strict_policy_and_no_script_inside(db: None) -> None:
    world = make_world()
    signing_in.prepare(world)
    looked = 0
    for name, method in signing_in.ROWS:
        if method != "GET":
            continue
        for person in ("nobody", "own", "district"):
            client = Client()
            if person != "nobody":
                client.force_login(world.people[person])
            path = reverse(name, args=[world.ids[key] for key in signing_in.ADDRESSES.get(name, ())])
            answer = client.get(path)
            if not answer["Content-Type"].startswith("text/html") or answer.status_code == 302:
                continue
            looked += 1
            check(answer.headers["Content-Security-Policy"], answer.text, path)
    assert looked > 50


def test_so_have_the_pages_behind_showing_that_it_is_oneself(ada: Member, sign_in: SignIn) -> None:
    client = sign_in(ada)
    show_it_is_me(client)
    for path in ("/account/passkeys/add/", "/account/two-steps/app/"):
        answer = client.get(path)
        assert answer.status_code == 200
        check(answer.headers["Content-Security-Policy"], answer.text, path)
    assert not Authenticator.objects.exists()


def check(policy: str, page: str, path: str) -> None:
    parts = {part.strip() for part in policy.split(";")}
    [scripts] = [part for part in parts if part.startswith("script-src ")]
    assert re.fullmatch(r"script-src 'self'( 'nonce-[^']+')?", scripts), path
    assert parts - {scripts} == POLICY, path
    for attributes, inside in re.findall(r"<script\b([^>]*)>(.*?)</script>", page, re.S):
        assert inside == "" or 'type="application/json"' in attributes, path
    assert not re.search(r"<[^>]+\son\w+=", page), path
    assert "javascript:" not in page, path
