"""Inviting somebody and coming in, in a browser: by the keyboard alone, and without scripts."""

import re
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from teamroom.members.models import DistrictRole, Member
from tests import factories as make
from tests.members.letting_in import PASSPHRASE, Place, path_of
from tests.web.conftest import OpenPage
from tests.web.looks import faults, fits, sizes


@pytest.fixture
def place(transactional_db: None) -> Place:
    return Place()


def tab_to(page: Page, name: str) -> None:
    """Press Tab until what has that accessible name has the focus."""
    for _ in range(40):
        page.keyboard.press("Tab")
        focus = page.evaluate("document.activeElement.labels?.[0]?.textContent || document.activeElement.textContent")
        if name in focus:
            return
    raise AssertionError(f"{name!r} was not reached by Tab")


def test_a_lead_invites_and_the_newcomer_comes_in_by_the_keyboard_alone(open_page: OpenPage, place: Place) -> None:
    page = open_page(reverse("members:people", args=[place.year.pk]), place.lead)
    tab_to(page, "Invite somebody")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Invite somebody")).to_be_visible()
    tab_to(page, "E-mail address")
    page.keyboard.type("nora@school.example")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="nora@school.example is invited")).to_be_visible()
    link = page.get_by_label("The link, to hand over yourself").input_value()
    tab_to(page, "Copy the link")
    page.keyboard.press("Enter")
    expect(page.locator("#link-said")).to_have_text(re.compile("copied|selected"))
    newcomer = open_page(re.sub(r"^http://[^/]+", "", link))
    tab_to(newcomer, "Your name")
    newcomer.keyboard.type("Nora")
    tab_to(newcomer, "Passphrase")
    newcomer.keyboard.type("short")
    newcomer.keyboard.press("Enter")
    expect(newcomer.locator(".fault")).to_contain_text("15 characters")
    assert newcomer.get_by_label("Your name").input_value() == "Nora"
    tab_to(newcomer, "Passphrase")
    newcomer.keyboard.type(PASSPHRASE)
    newcomer.keyboard.press("Enter")
    expect(newcomer.get_by_role("status")).to_have_text("You are in, as teacher of Grade 4.")
    assert Member.objects.get(name="Nora").team_roles.get().role == "teacher"


def test_without_scripts_the_link_is_there_to_be_copied_and_roles_are_given(open_page: OpenPage, place: Place) -> None:
    perry = make.make_teammate(place.team, "Perry")
    page = open_page(reverse("members:invite", args=[place.year.pk]), place.administrator, java_script_enabled=False)
    page.get_by_label("E-mail address").fill("nora@school.example")
    page.get_by_label("Team", exact=True).select_option("Grade 4")
    page.get_by_label("Role in the team").select_option("Guest")
    page.get_by_role("button", name="Invite them").click()
    expect(page.get_by_label("The link, to hand over yourself")).to_have_value(re.compile("/invitation/"))
    expect(page.get_by_role("button", name="Copy the link")).to_be_hidden()
    page.get_by_role("link", name="Back to the people").click()
    page.get_by_role("link", name="Perry").click()
    page.get_by_role("button", name="Take out of Grade 4").click()
    expect(page.get_by_role("status")).to_have_text("Perry is no longer in Grade 4.")
    page.locator("section", has_text="Give a role in a team").get_by_role("button", name="Give the role").click()
    expect(page.get_by_role("status")).to_have_text("Perry is teacher of Grade 4 now.")
    assert perry.team_roles.get().role == "teacher"


@sizes
def test_axe_finds_nothing_on_the_pages_of_people_and_schools(
    open_page: OpenPage, place: Place, size: dict[str, Any]
) -> None:
    year, school = place.year.pk, place.school.pk
    perry = make.make_teammate(place.team, "Perry")
    DistrictRole.objects.create(member=place.administrator)
    place.invited("a-rather-long-name.with-another@fernhollow-elementary.example")
    page = open_page("/", place.administrator, **size)
    base = page.url.rstrip("/")
    paths = [
        *(reverse(f"members:{name}", args=[year]) for name in ("people", "invite")),
        *(reverse(f"members:{name}", args=[year, perry.pk]) for name in ("person", "person-close")),
        *(reverse(name) for name in ("home", "members:roles", "schools", "school-found")),
        *(reverse(name, args=[school]) for name in ("school", "year-begin", "school-invite")),
        reverse("year", args=[year]),
    ]
    found = {}
    for path in paths:
        page.goto(f"{base}{path}")
        found[path] = faults(page) + ([] if fits(page) else ["wider than the screen"])
    assert {path: some for path, some in found.items() if some} == {}


@sizes
def test_axe_finds_nothing_on_what_an_invitations_link_shows(
    open_page: OpenPage, place: Place, size: dict[str, Any]
) -> None:
    new, known = place.invited(), place.invited(place.lead.email, school_role="coordinator")
    found = {}
    for path, member in (
        (path_of(new), None),
        (path_of(known), None),
        (path_of(known), place.lead),
        (path_of(new), place.lead),
        ("/invitation/x/", None),
    ):
        page = open_page(path, member, **size)
        found[path, str(member)] = faults(page) + ([] if fits(page) else ["wider than the screen"])
    assert {key: some for key, some in found.items() if some} == {}
