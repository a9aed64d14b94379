"""Writing, changing, copying and retiring rules over HTTP, and the preview beside the form."""

import datetime as dt
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.models import Reading, Rule
from scheduling.selectors.rule_outcomes import RuleOutcome
from scheduling.services.rules import retire_rule, state_of
from teamroom.dates.models import SchoolYear
from tests.factories import make_rule
from tests.scheduling.rules.conftest import Place
from tests.scheduling.rules.posts import MATH, Sent, add_at, added, at, differs_from_scratch, of_body, sent, stored
from tests.scheduling.rules.written_rules import bodies

ACTIVITIES = ("reading", "math", "science", "pe", "recess", "lunch", "art")


def previewed(outcome: RuleOutcome) -> dict[tuple[int, int | None], tuple[Any, ...]]:
    """The same out of a preview."""
    found: dict[tuple[int, int | None], tuple[Any, ...]] = {}
    for room in outcome.rooms:
        if room.status:
            found[room.pk, None] = (room.status, None, None, None)
        for part in room.parts:
            found[room.pk, part.place] = (part.status, *part.figures)
    return found


def test_a_rule_is_written_in_words_and_read_at_once(place: Place, client: Client) -> None:
    told = sent(
        "Mathematics in the week",
        MATH,
        citation_title="Staff agreement",
        citation_url="https://school.example/agreement",
        citation_checked="2026-08-20",
        effective_from="2026-09-07",
        note="Since 2024.\r\nKept.",
    )
    rule = added(client, place.year, told)
    assert rule.key == "mathematics-in-the-week"
    assert rule.body == {"pool": {"of": ["math"]}, "at_least": 150, "window": "week"}
    assert (rule.grades, rule.standing, rule.note) == (["4"], "school", "Since 2024.\nKept.")
    assert (rule.citation_checked, rule.effective_from) == (dt.date(2026, 8, 20), dt.date(2026, 9, 7))
    assert stored(rule)[place.room.pk, 0] == ("met", 150, 150, 0)
    assert stored(rule)[place.other.pk, 0] == ("short", 150, 0, -150)
    page = client.get(reverse("scheduling:rules", args=[place.year.pk])).text
    assert "Mathematics in the week is added. 1 of 2 classrooms meets it now. Not: Room14 (short)." in page
    assert "At least 2 hours 30 minutes of math in each week." in page
    assert not differs_from_scratch(place.year)


def test_everything_a_part_can_say_is_said_by_the_form(place: Place, client: Client) -> None:
    told = sent(
        "All of it",
        {
            "counts": "except",
            "activities": ["lunch"],
            "amount": "5 h",
            "window": "run",
            "run_days": "10",
            "run": "rolling",
            "mean": "day",
            "sitting": "15",
            "cap_activity": ["recess", "pe", ""],
            "cap_most": ["30", "15%", ""],
            "cap_per": ["sitting", "share", "day"],
            "pair_activity": ["recess", ""],
            "pair_beside": ["lunch", ""],
            "day_kinds": ["regular"],
            "short_window": "full",
        },
        {"activities": ["math"], "test": "share", "share": "1/3", "base_counts": "except", "window": "day"},
        {"activities": ["pe"], "test": "days_met", "days": "3", "day_minutes": "20"},
        {"activities": ["reading"], "test": "unbroken", "amount": "60", "window": "day"},
        {"activities": ["recess"], "test": "at_most", "amount": "600", "window": "month", "short_window": "full"},
        {"activities": ["art"], "test": "recommended", "amount": "2000", "window": "year"},
        join="any",
    )  # fmt: skip
    rule = added(client, place.year, told)
    assert rule.body == {
        "any": [
            {
                "pool": {"except": ["lunch"]},
                "at_least": 300,
                "window": "run",
                "run": {"days": 10, "rolling": True},
                "mean": "day",
                "sitting": 15,
                "caps": [
                    {"activity": "recess", "at_most": 30, "per": "sitting"},
                    {"activity": "pe", "at_most_share": "15/100"},
                ],
                "not_beside": [{"activity": "recess", "beside": "lunch"}],
                "day_kinds": ["regular"],
                "short_window": "full",
            },
            {"pool": {"of": ["math"]}, "share": {"at_least": "1/3", "of": {"except": []}}, "window": "day"},
            {"pool": {"of": ["pe"]}, "days_met": {"at_least": 3, "minutes": 20}, "window": "week"},
            {"pool": {"of": ["reading"]}, "unbroken": 60, "window": "day"},
            {"pool": {"of": ["recess"]}, "at_most": 600, "window": "month", "short_window": "full"},
            {"pool": {"of": ["art"]}, "recommended": 2000, "window": "year"},
        ]
    }


def test_a_rule_no_week_can_prove_says_why_and_asks_nothing(place: Place, client: Client) -> None:
    told = sent("Groups", MATH, proof="none")
    refused = client.post(add_at(place.year), told)
    assert (refused.status_code, refused.context["form"].errors["reason"]) == (422, ["Say why no week can prove it."])
    rule = added(client, place.year, {**told, "reason": "It counts groups of pupils."})
    assert (rule.body, rule.not_checkable) == ({}, "It counts groups of pupils.")
    assert set(stored(rule).values()) == {("not checkable", None, None, None)}


@pytest.mark.parametrize(
    ("changed", "field", "sentence"),
    [
        ({"name": ""}, "name", "Give the rule a name, as in Mathematics in the week."),
        ({"grades": "the big ones"}, "grades", "Not understood as a grade"),
        ({"grades": ""}, "grades", "Say for which grades, as in 3-5."),
        ({"standing": "royal"}, "standing", "royal"),
        ({"citation_url": "https://a.example"}, "citation_title", "Say what the source is called, too."),
        (
            {"citation_title": "A", "citation_url": "javascript:alert(1)"},
            "citation_url",
            "Write the whole address, beginning with https://.",
        ),
        ({"citation_title": "A", "citation_checked": "last year"}, "citation_checked", "Write the date as 2026-09-07."),
        ({"effective_from": "1492-10-12"}, "effective_from", "Give a date between 1900 and 2199."),
        (
            {"effective_from": "2026-10-01", "effective_to": "2026-09-30"},
            "effective_to",
            "The rule ends before it begins: give a later date, or none.",
        ),
        ({"p0-amount": "plenty"}, "__all__", "1 thing to mend in part 1."),
    ],
)
def test_a_refusal_stands_at_its_field_and_nothing_typed_is_lost(
    place: Place, client: Client, changed: Sent, field: str, sentence: str
) -> None:
    answer = client.post(add_at(place.year), {**sent("Mathematics", MATH, note="Kept as typed"), **changed})
    assert answer.status_code == 422
    assert sentence in answer.context["form"].errors[field][0]
    assert "Kept as typed" in answer.text
    assert 'value="math" checked' in answer.text
    assert not Rule.objects.exists()


def test_a_fault_in_a_part_stands_beside_what_was_typed(place: Place, client: Client) -> None:
    answer = client.post(add_at(place.year), sent("Mathematics", {**MATH, "amount": "plenty"}))
    assert 'value="plenty"' in answer.text
    assert "Write whole minutes, as in 200, or hours, as in 990 h" in answer.text


@pytest.mark.parametrize("htmx", [False, True])
def test_parts_and_rows_come_and_go_by_buttons_that_save_nothing(place: Place, client: Client, htmx: bool) -> None:
    headers = {"HX-Request": "true"} if htmx else {}
    told = sent("PE", {"activities": ["pe"], "amount": "150"})
    two = client.post(add_at(place.year), {**told, "add-part": "1"}, headers=headers)
    assert two.status_code == 200
    assert [part.number for part in two.context["parts"]] == [0, 1]
    assert two.context["parts"][1].typed.pool.activities == ("pe",)
    assert "fault" not in two.text and 'value="150"' in two.text
    told = sent("PE", {"activities": ["pe"], "amount": "150"}, {"activities": ["pe"], "test": "days_met", "days": "3"})
    rows = client.post(add_at(place.year), {**told, "more-rows": "1"}, headers=headers)
    assert [part.riders_open for part in rows.context["parts"]] == [False, True]
    one = client.post(add_at(place.year), {**told, "remove-part": "0"}, headers=headers)
    assert [part.number for part in one.context["parts"]] == [1]
    assert not Rule.objects.exists()


def test_the_preview_without_scripts_is_the_page_with_it_filled_in(place: Place, client: Client) -> None:
    answer = client.post(add_at(place.year), {**sent("", MATH), "show": "1"})
    assert answer.status_code == 200
    assert "1 of 2 classrooms meets it now." in answer.text
    assert "At least 2 hours 30 minutes of math in each week." in answer.text
    assert not Rule.objects.exists()


def test_the_preview_needs_no_name_and_says_what_is_still_missing(place: Place, client: Client) -> None:
    url = reverse("scheduling:rule-preview", args=[place.year.pk])
    answer = client.post(url, sent("", MATH), headers={"HX-Request": "true"})
    assert (answer.status_code, "<html" in answer.text) == (200, False)
    assert previewed(answer.context["outcome"])[place.room.pk, 0] == ("met", 150, 150, 0)
    unfinished = client.post(url, sent("", {"activities": ["math"]}), headers={"HX-Request": "true"})
    assert unfinished.status_code == 422
    assert "Say how many minutes." in unfinished.text
    assert client.post(url, sent("", MATH)).text.count("<h1") == 1


def test_the_preview_knows_classrooms_by_grade_and_a_week_that_is_not_there(place: Place, client: Client) -> None:
    url = reverse("scheduling:rule-preview", args=[place.year.pk])
    five = client.post(url, sent("", MATH, grades="5")).context["outcome"]
    assert [(room.name, room.has_week, room.status) for room in five.rooms] == [("Room14", False, "short")]
    nobody = client.post(url, sent("", MATH, grades="1")).context["outcome"]
    assert nobody.summary == "No classroom is in these grades yet."
    later = client.post(url, sent("", MATH, effective_from="2030-01-01")).context["outcome"]
    assert later.summary == "It asks for nothing in this year: no day, week or run of it is checked."


@given(body=bodies(ACTIVITIES, ("regular", "minimum")))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_the_saved_rule_gives_exactly_what_the_preview_showed(
    place: Place, client: Client, body: dict[str, Any]
) -> None:
    told = of_body("Anything", body, grades="4, 5")
    url = reverse("scheduling:rule-preview", args=[place.year.pk])
    before = Reading.objects.count(), SchoolYear.objects.get().revision
    shown = previewed(client.post(url, told).context["outcome"])
    assert (Reading.objects.count(), SchoolYear.objects.get().revision) == before
    rule = added(client, place.year, told)
    assert stored(rule) == shown
    retire_rule(rule)


@given(body=bodies(ACTIVITIES, ("regular", "minimum")))
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_rule_opened_and_saved_as_it_is_stays_word_for_word(
    place: Place, client: Client, body: dict[str, Any]
) -> None:
    rule = make_rule(place.year, "old", body, note="First line\nsecond", citation_title="A", citation_url="no address")
    page = client.get(at("rule-edit", rule))
    form = page.context["form"]
    told = {**of_body(rule.name, body), **{name: form[name].value() or "" for name in form.fields}}
    revision = SchoolYear.objects.get().revision
    assert client.post(at("rule-edit", rule), told).status_code == 302
    assert Rule.objects.values().get() == {**Rule.objects.values().get(), "body": body, "note": "First line\nsecond"}
    assert SchoolYear.objects.get().revision == revision
    rule.delete()


def test_a_rule_of_a_hundred_parts_opens_and_is_sent_back_whole(place: Place, client: Client) -> None:
    parts = [{"pool": {"except": list(ACTIVITIES)}, "at_least": number, "window": "day"} for number in range(100)]
    rule = make_rule(place.year, "long", {"any": parts})
    assert len(client.get(at("rule-edit", rule)).context["parts"]) == 100
    told = {**of_body("Long", rule.body), "seen": state_of(rule)}
    assert client.post(at("rule-edit", rule), told).status_code == 302
    assert Rule.objects.values_list("name", "body").get() == ("Long", {"any": parts})


junk = st.one_of(
    st.text(max_size=12),
    st.sampled_from(["1", "150", "4", "all", "none", "of", "share", "run", "2026-09-07", "\x00", "9" * 40]),
)
FIELDS = (
    *("name", "grades", "standing", "proof", "reason", "citation_title", "citation_url", "citation_checked"),
    *("effective_from", "effective_to", "note", "seen", "part", "join", "add-part", "remove-part", "more-rows", "show"),
    *(f"p0-{name}" for name in ("counts", "activities", "test", "amount", "share", "base_counts", "base_activities")),
    *(f"p0-{name}" for name in ("days", "day_minutes", "window", "run_days", "run", "mean", "sitting", "day_kinds")),
    *(f"p0-{name}" for name in ("cap_activity", "cap_most", "cap_per", "pair_activity", "pair_beside", "short_window")),
)


@given(changed=st.dictionaries(st.sampled_from(FIELDS), st.lists(junk, max_size=3), max_size=8))
@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_is_sent_is_taken_whole_or_refused_whole(
    place: Place, client: Client, changed: dict[str, list[str]]
) -> None:
    before = Rule.objects.count(), Reading.objects.count()
    answer = client.post(add_at(place.year), {**sent("Mathematics", MATH), **changed})
    assert answer.status_code in (200, 302, 422)
    preview = client.post(reverse("scheduling:rule-preview", args=[place.year.pk]), {**sent("", MATH), **changed})
    assert preview.status_code in (200, 422)
    if answer.status_code == 302:
        assert Rule.objects.count() == before[0] + 1
        rule = Rule.objects.latest("pk")
        assert client.get(at("rule-edit", rule)).status_code == 200
        retire_rule(rule)
    assert (Rule.objects.count(), Reading.objects.count()) == before
