"""Changing, copying, retiring and bringing back rules, and the page that tells them."""

import datetime as dt

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.models import Activity, Reading, Rule
from scheduling.services.rules import add_rule, bring_back, retire_rule, state_of, wording_of
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import SchoolYear
from tests.factories import add, make_classroom, make_rule, make_teacher, make_week
from tests.scheduling.rules.conftest import DAY, Place
from tests.scheduling.rules.posts import MATH, Sent, add_at, added, at, differs_from_scratch, of_body, sent, stored

ACTIVITIES = ("reading", "math", "science", "pe", "recess", "lunch", "art")


def test_adjusting_a_rule_changes_its_readings_and_no_others(place: Place, client: Client) -> None:
    other = make_rule(place.year, "reading", {"pool": {"of": ["reading"]}, "at_least": 100})
    rule = make_rule(place.year, "math", {"pool": {"of": ["math"]}, "at_least": 150})
    untouched = list(Reading.objects.filter(rule=other).values())
    told = sent("Math", {**MATH, "amount": "200"}, seen=state_of(rule))
    answer = client.post(at("rule-edit", rule), told, follow=True)
    assert "Math is saved. None of 2 classrooms meets it now. Not: Room12 (short) and Room14 (short)." in answer.text
    rule.refresh_from_db()
    assert (rule.key, rule.body["at_least"], stored(rule)[place.room.pk, 0]) == ("math", 200, ("short", 200, 150, -50))
    assert list(Reading.objects.filter(rule=other).values()) == untouched
    assert not differs_from_scratch(place.year)


def test_a_rule_that_somebody_else_changed_is_not_overwritten_and_both_versions_are_shown(
    place: Place, client: Client
) -> None:
    rule = make_rule(place.year, "math", {"pool": {"of": ["math"]}, "at_least": 150}, name="Math")
    seen = client.get(at("rule-edit", rule)).context["form"]["seen"].value()
    theirs = sent("Math", {**MATH, "amount": "100"}, seen=seen)
    assert client.post(at("rule-edit", rule), theirs).status_code == 302
    mine = client.post(at("rule-edit", rule), sent("Math", {**MATH, "amount": "200"}, seen=seen))
    assert mine.status_code == 409
    assert "At least 100 minutes of math in each week." in mine.text
    assert "At least 3 hours 20 minutes of math in each week." in mine.text
    assert Rule.objects.get().body["at_least"] == 100
    # Sent again from that page, it knows what it replaces.
    again = sent("Math", {**MATH, "amount": "200"}, seen=mine.context["seen"])
    assert client.post(at("rule-edit", rule), again).status_code == 302
    assert Rule.objects.get().body["at_least"] == 200


def test_laying_out_parts_does_not_forget_which_state_of_the_rule_was_seen(place: Place, client: Client) -> None:
    rule = make_rule(place.year, "math", {"pool": {"of": ["math"]}, "at_least": 150})
    seen = state_of(rule)
    Rule.objects.update(note="changed meanwhile")
    answer = client.post(at("rule-edit", rule), {**sent("Math", MATH, seen=seen), "add-part": "1"})
    assert f'name="seen" value="{seen}"' in answer.text


def test_a_copy_is_a_new_rule_and_nothing_before_it_is_saved(place: Place, client: Client) -> None:
    rule = make_rule(place.year, "math", {"pool": {"of": ["math"]}, "at_least": 150}, name="Math", standing="law")
    page = client.get(at("rule-copy", rule))
    assert page.context["form"]["name"].value() == "Math (copy)"
    assert page.context["action"] == add_at(place.year)
    assert Rule.objects.count() == 1
    copy = added(client, place.year, of_body("Math (copy)", rule.body))
    assert (copy.key, copy.body) == ("math-copy", {**rule.body, "window": "week"})


def test_a_second_rule_of_a_name_gets_a_key_of_its_own(place: Place, client: Client) -> None:
    keys = [added(client, place.year, sent("Math", MATH)).key for _ in range(2)]
    assert keys == ["math", "math-2"]
    assert added(client, place.year, sent("読書", MATH)).key == "rule"


def test_a_retired_rule_is_gone_with_its_readings_and_comes_back_as_it_was(place: Place, client: Client) -> None:
    rule = added(client, place.year, sent("Math", MATH, note="Why", effective_from="2026-09-07"))
    before, readings = wording_of(rule), stored(rule)
    answer = client.post(at("rule-retire", rule), follow=True)
    assert "Math is retired: no classroom answers to it any more." in answer.text
    assert not Rule.objects.exists() and not Reading.objects.exists()
    back = client.post(at("rule-bring-back", rule), follow=True)
    assert "Math is back. 1 of 2 classrooms meets it now." in back.text
    again = Rule.objects.get()
    assert (again.pk, again.key, wording_of(again), stored(again)) == (rule.pk, "math", before, readings)
    assert client.post(at("rule-bring-back", rule)).status_code == 302
    assert Rule.objects.count() == 1
    assert not differs_from_scratch(place.year)


def test_a_rule_comes_back_as_it_was_last_and_can_be_retired_twice(place: Place) -> None:
    rule = make_rule(place.year, "math", {"pool": {"of": ["math"]}, "at_least": 150})
    pk = rule.pk
    retire_rule(rule)
    again = bring_back(place.year, pk)
    again.note = "second life"
    again.save()
    retire_rule(again)
    assert bring_back(place.year, pk).note == "second life"


def test_a_rule_whose_key_is_taken_by_now_or_that_is_of_another_year_does_not_come_back(place: Place) -> None:
    rule = make_rule(place.year, "math", {"pool": {"of": ["math"]}, "at_least": 150})
    pk, wording = rule.pk, wording_of(rule)
    retire_rule(rule)
    add_rule(place.year, wording)
    Rule.objects.update(key="math")
    with pytest.raises(RuleBroken, match="is here again already"):
        bring_back(place.year, pk)
    Rule.objects.all().delete()
    other = SchoolYear.objects.create(
        school=place.year.school, name="next", first_day=dt.date(2027, 9, 6), last_day=dt.date(2028, 6, 1)
    )
    with pytest.raises(RuleBroken, match="not in the trail of this year"):
        bring_back(other, pk)


def test_a_rule_of_another_year_is_not_found_under_this_one(place: Place, client: Client) -> None:
    other = SchoolYear.objects.create(
        school=place.year.school, name="next", first_day=dt.date(2027, 9, 6), last_day=dt.date(2028, 6, 1)
    )
    rule = Rule.objects.create(year=other, key="math", name="Math", grades=["4"], body={"at_least": 1})
    for name in ("rule-edit", "rule-copy"):
        assert client.get(reverse(f"scheduling:{name}", args=[place.year.pk, rule.pk])).status_code == 404
    assert client.post(reverse("scheduling:rule-retire", args=[place.year.pk, rule.pk])).status_code == 404
    assert Rule.objects.filter(pk=rule.pk).exists()


def test_an_activity_the_year_has_no_more_stays_in_a_rule_that_names_it(place: Place, client: Client) -> None:
    rule = make_rule(place.year, "cursive", {"pool": {"of": ["math", "cursive"]}, "at_least": 30})
    page = client.get(at("rule-edit", rule))
    assert 'value="cursive" checked' in page.text
    told = {**of_body("Cursive", rule.body), "seen": state_of(rule)}
    assert client.post(at("rule-edit", rule), told).status_code == 302
    assert Rule.objects.get().body == {"pool": {"of": ["math", "cursive"]}, "at_least": 30}
    assert client.post(add_at(place.year), of_body("Cursive", rule.body)).status_code == 422


def test_a_teacher_sees_the_figures_of_their_own_team_only(place: Place, client: Client) -> None:
    stranger = make_classroom(place.year, "room31", ("5",))
    make_rule(place.year, "math", {"pool": {"of": ["math"]}, "at_least": 150}, grades=("4", "5"))
    client.force_login(place.teacher)
    page = client.get(reverse("scheduling:rules", args=[place.year.pk])).text
    assert "1 of 2 classrooms meets it" in page
    assert "Room14" in page and str(stranger) not in page
    assert "Adjust" not in page and "Retire" not in page
    client.force_login(place.administrator)
    assert "1 of 3 classrooms meets it" in client.get(reverse("scheduling:rules", args=[place.year.pk])).text


def test_an_empty_year_shows_the_next_step(place: Place, client: Client) -> None:
    page = client.get(reverse("scheduling:rules", args=[place.year.pk]))
    assert "choose them from the library" in page.text
    client.force_login(place.teacher)
    assert "choose them from the library" not in client.get(reverse("scheduling:rules", args=[place.year.pk])).text


def queries(client: Client, url: str, told: Sent | None = None) -> int:
    with CaptureQueriesContext(connection) as caught:
        answer = client.get(url) if told is None else client.post(url, told)
    assert answer.status_code == 200
    return len(caught)


def test_the_pages_ask_the_same_number_of_queries_for_two_rules_and_rooms_as_for_twenty(
    place: Place, client: Client
) -> None:
    rules = reverse("scheduling:rules", args=[place.year.pk])
    preview = reverse("scheduling:rule-preview", args=[place.year.pk])
    rule = make_rule(place.year, "rule", {"pool": {"of": ["math"]}, "at_least": 150})
    gone = make_rule(place.year, "gone", {"pool": {"of": ["math"]}, "at_least": 150})
    retire_rule(gone)

    def counted() -> tuple[int, int, int]:
        for url in (rules, at("rule-edit", rule)):
            client.get(url)  # the kept words of a new revision are worked out once
        return queries(client, rules), queries(client, preview, sent("", MATH)), queries(client, at("rule-edit", rule))

    few = counted()
    for number in range(20):
        room = make_classroom(place.year, f"more{number}")
        add(make_week(room), make_teacher(room, f"T{number}"), ("mon", *DAY[0]))
        make_rule(place.year, f"more{number}", {"pool": {"of": ["math"]}, "at_least": 150})
        retire_rule(make_rule(place.year, f"gone{number}", {"at_least": 150}))
    assert Activity.objects.filter(year=place.year).count() == len(ACTIVITIES)
    assert counted() == few
