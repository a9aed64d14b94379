"""The rules of a year in Chromium: by keyboard alone, without scripts, narrow and wide, light and dark."""

from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from scheduling.models import Reading, Rule
from scheduling.services.rules import retire_rule
from teamroom.dates.models import School
from teamroom.members.models import Member
from tests.factories import make_coordinator, make_rule
from tests.web.conftest import OpenPage, World
from tests.web.looks import LAPTOP, faults, sizes

MOST_TABS = 160


@pytest.fixture
def administrator(world: World) -> Member:
    School.objects.update(place="US-CA")
    return make_coordinator(world.year.school, "Ada", "administrator")


def at(world: World, name: str, *ids: int) -> str:
    return reverse(f"scheduling:{name}", args=[world.year.pk, *ids])


def tab_to(page: Page, what: str) -> None:
    """Press Tab until the focus is on what a selector names, and see that the focus shows."""
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        if page.evaluate("what => document.activeElement.matches(what)", what):
            shown = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
            assert shown != "none", f"no focus is to be seen on {what}"
            return
    raise AssertionError(f"Tab never came to {what}")


def press(page: Page, *keys: str) -> None:
    for key in keys:
        page.keyboard.press(key)


def test_two_published_rules_are_adopted_and_one_of_two_parts_is_written_by_keyboard_alone(
    open_page: OpenPage, world: World, administrator: Member
) -> None:
    page = open_page(at(world, "rules"), administrator, **LAPTOP)
    tab_to(page, "a[href$='/rules/library/']")
    press(page, "Enter")
    # The general rules of the school's own state are ticked; all but two are unticked again.
    expect(page.locator("#adoption-outcome")).to_have_text("4 rules added.")
    for key in ("us-ca-annual-4-8", "us-ca-minday-4-8"):
        tab_to(page, f"input[value='{key}']")
        press(page, "Space")
    expect(page.locator("#adoption-outcome")).to_have_text("2 rules added.")
    assert faults(page) == []
    tab_to(page, "button[form='adopt-form'].primary")
    press(page, "Enter")
    page.wait_for_url("**/rules/?adopted=*")
    expect(page.get_by_role("status").first).to_contain_text("2 rules added.")
    assert set(Rule.objects.filter(standing__in=("law", "advice")).values_list("key", flat=True)) == {
        "us-ca-pe-1-6",
        "us-ca-math-framework",
    }

    tab_to(page, "a[href$='/rules/add/']")
    press(page, "Enter")
    page.wait_for_url("**/rules/add/")
    tab_to(page, "[name='name']")
    page.keyboard.type("Science, minutes and days")
    tab_to(page, "[name='p0-activities'][value='science']")
    press(page, "Space")
    tab_to(page, "[name='p0-amount']")
    page.keyboard.type("90")
    expect(page.locator("#rule-outcome")).to_have_text("The one classroom meets it now.")
    expect(page.locator("#rule-preview")).to_contain_text("At least 90 minutes of science in each week.")
    tab_to(page, "[name='add-part']")
    press(page, "Enter")
    # The focus goes to the new part, and what was typed is still there.
    expect(page.locator("[name='p1-counts']")).to_be_focused()
    expect(page.locator("[name='p0-amount']")).to_have_value("90")
    tab_to(page, "[name='p1-test']")
    page.keyboard.type("on at least")
    expect(page.locator("[name='p1-test']")).to_have_value("days_met")
    tab_to(page, "[name='p1-days']")
    page.keyboard.type("3")
    expect(page.locator("#rule-outcome")).to_have_text("The one classroom does not meet it now.")
    expect(page.locator("#rule-preview")).to_contain_text("of science on at least 3 days in each week.")
    assert faults(page) == []
    tab_to(page, "[name='save']")
    press(page, "Enter")
    page.wait_for_url("**/rules/#rule-*")
    expect(page.get_by_role("status").first).to_contain_text("Science, minutes and days is added.")
    rule = Rule.objects.get(name="Science, minutes and days")
    assert rule.body == {
        "all": [
            {"pool": {"of": ["science"]}, "at_least": 90, "window": "week"},
            {"pool": {"of": ["science"]}, "days_met": {"at_least": 3}, "window": "week"},
        ]
    }
    readings = Reading.objects.filter(rule=rule).order_by("part").values_list("part", "status", "planned")
    assert list(readings) == [(0, "met", 90), (1, "short", 2), (None, "short", None)]
    assert not world.differs_from_scratch()


def test_enter_in_a_field_shows_what_is_demanded_and_saves_nothing(
    open_page: OpenPage, world: World, administrator: Member
) -> None:
    page = open_page(at(world, "rule-add"), administrator, **LAPTOP)
    page.locator("[name='p0-activities'][value='math']").check()
    page.fill("[name='p0-amount']", "120")
    page.press("[name='p0-amount']", "Enter")
    expect(page.locator("#rule-outcome")).to_have_text("The one classroom meets it now.")
    assert not Rule.objects.filter(key__startswith="rule").exists()
    expect(page.locator("[name='p0-amount']")).to_have_value("120")


def test_the_form_shows_only_the_fields_that_its_test_and_window_ask_for(
    open_page: OpenPage, world: World, administrator: Member
) -> None:
    page = open_page(at(world, "rule-add"), administrator, java_script_enabled=False, **LAPTOP)
    field = {name: page.locator(f"[name='p0-{name}']") for name in ("amount", "share", "days", "run_days", "mean")}

    def shown() -> set[str]:
        return {name for name, one in field.items() if one.is_visible()}

    assert shown() == {"amount", "mean"}
    for test, asked in (("share", {"share"}), ("days_met", {"days"}), ("unbroken", {"amount"})):
        page.select_option("[name='p0-test']", test)
        assert shown() == asked
    page.select_option("[name='p0-window']", "run")
    assert shown() == {"amount", "run_days"}
    page.get_by_role("radio", name="No week can prove it").check()
    assert shown() == set()


def test_without_scripts_parts_are_added_the_demand_is_shown_and_the_rule_is_saved(
    open_page: OpenPage, world: World, administrator: Member
) -> None:
    page = open_page(at(world, "rule-add"), administrator, java_script_enabled=False, **LAPTOP)
    page.fill("[name='name']", "Reading")
    page.locator("[name='p0-activities'][value='reading']").check()
    page.fill("[name='p0-amount']", "60")
    page.get_by_role("button", name="Add a part").click()
    page.select_option("[name='p1-test']", "days_met")
    page.fill("[name='p1-days']", "2")
    page.get_by_label("one of them is enough").check()
    page.get_by_role("button", name="Show what it demands").last.click()
    expect(page.locator("#rule-preview")).to_contain_text("One of these is enough:")
    page.get_by_role("button", name="Add the rule").click()
    expect(page.get_by_role("status").first).to_contain_text("Reading is added.")
    assert len(Rule.objects.get(name="Reading").body["any"]) == 2
    page.get_by_role("button", name="Retire Reading").first.click()
    page.get_by_role("button", name="Bring it back").click()
    expect(page.get_by_role("status").first).to_contain_text("is back")


@sizes
def test_axe_finds_nothing_and_nothing_is_cut_off(
    open_page: OpenPage, world: World, administrator: Member, size: dict[str, Any]
) -> None:
    rule = make_rule(
        world.year,
        "much",
        {
            "all": [
                {"pool": {"of": ["pe"]}, "at_least": 90, "caps": [{"activity": "pe", "at_most": 30}], "sitting": 20},
                {"pool": {"of": ["pe"]}, "share": {"at_least": "1/3", "of": {"except": ["lunch"]}}, "window": "day"},
            ]
        },
        note="A note.",
    )
    retire_rule(make_rule(world.year, "gone", {"at_least": 1}))
    make_rule(world.year, "groups", {}, not_checkable="It counts groups of pupils.", standing="district")
    page = open_page(at(world, "rules"), administrator, **size)
    base = page.url.split("/years/")[0]
    addresses = {
        "rules": at(world, "rules"),
        "library": at(world, "rule-library"),
        "add": at(world, "rule-add"),
        "edit": at(world, "rule-edit", rule.pk),
        "copy": at(world, "rule-copy", rule.pk),
    }
    found = {}
    for name, address in addresses.items():
        page.goto(base + address)
        page.evaluate("document.querySelectorAll('main details').forEach(one => { one.open = true; })")
        if name == "library":
            expect(page.locator("#adoption-outcome")).to_contain_text("added")
        found[name] = faults(page)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), name
    page.goto(base + addresses["add"])
    page.locator("[name='save']").click()
    expect(page.locator(".wrong").first).to_be_visible()
    found["refused"] = faults(page)
    assert {name: some for name, some in found.items() if some} == {}
