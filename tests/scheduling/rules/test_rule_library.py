"""Adopting published rules on the screen: what is offered, previewed, written, and taken back."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.models import Activity, Reading, Rule
from scheduling.rule_library.library import jurisdictions
from teamroom.dates.models import School, SchoolYear
from teamroom.members.models import Classroom, Team
from tests.factories import begin, make_classroom
from tests.scheduling.rules.conftest import Place

HTMX = {"HX-Request": "true"}


def url(year: SchoolYear, name: str, place: str = "") -> str:
    return reverse(f"scheduling:{name}", args=[year.pk]) + (f"?place={place}" if place else "")


def keys() -> set[str]:
    return set(Rule.objects.values_list("key", flat=True))


def ticks(place: str, *rules: str, grades: str = "4", **names: str) -> dict[str, Any]:
    maps = {f"map-{library}": school for library, school in names.items()}
    return {"place": place, "grades": grades, "rule": list(rules), **maps}


def test_the_school_s_own_state_is_chosen_first(place: Place, client: Client) -> None:
    page = client.get(url(place.year, "rule-library"))
    assert page.context["where"] is None and "Choose a place" in page.text
    School.objects.update(place="US-CA")
    assert client.get(url(place.year, "rule-library")).context["where"].name == "California"
    assert client.get(url(place.year, "rule-library", "us-nj")).context["where"].name == "New Jersey"
    School.objects.update(place="US-HI")
    assert client.get(url(place.year, "rule-library", "us-zz")).context["where"] is None
    School.objects.update(place="US-GU")
    assert "The library has no rules for Guam yet" in client.get(url(place.year, "rule-library")).text


@pytest.mark.parametrize("where", sorted(jurisdictions()))
def test_every_jurisdiction_shows_each_of_its_rules_with_its_source(place: Place, client: Client, where: str) -> None:
    page = client.get(url(place.year, "rule-library", where))
    lines = [line for section in page.context["form"].page.sections for line in section.lines]
    assert sorted(line.rule.key for line in lines) == sorted(rule.key for rule in jurisdictions()[where].rules)
    for line in lines:
        assert f'value="{line.rule.key}"' in page.text
        assert line.rule.citation.title and str(line.said)


def test_general_rules_are_ticked_and_special_expired_and_other_grades_are_not(place: Place, client: Client) -> None:
    form = client.get(url(place.year, "rule-library", "us-ca")).context["form"]
    assert form.ticked == {
        "us-ca-annual-4-8",
        "us-ca-minday-4-8",
        "us-ca-pe-1-6",
        "us-ca-math-framework",
    }
    sections = {section.title: {line.rule.key for line in section.lines} for section in form.page.sections}
    assert "us-ca-minday-avg10-4-8" in sections["for special cases"]
    assert "us-ca-annual-reduced-2009-15-4-8" in sections["not in force in this year"]
    assert "us-ca-annual-k" in sections["for other grades"]


def test_the_preview_says_what_adopting_then_does(place: Place, client: Client) -> None:
    told = ticks("us-mn", "us-mn-annual-1-6", "us-mn-annual-k", lunch="recess")
    shown = client.post(url(place.year, "rule-adopt-preview"), told, headers=HTMX)
    said = shown.context["said"]
    assert said.added == [("Instruction in the year over 165 days", "grade 4")]
    assert said.created == "Breakfast and Passing"
    assert [reason for _, reason in said.left_out] == ["for grades K only"]
    assert not Rule.objects.exists() and "<html" not in shown.text
    answer = client.post(url(place.year, "rule-adopt"), told, follow=True)
    assert "1 rule added. New activities: Breakfast and Passing." in answer.text
    assert "0 of 2 classrooms meet all that these ask of it now." in answer.text
    assert Rule.objects.get().body["all"][0]["pool"] == {"except": ["breakfast", "recess", "passing"]}
    assert set(Activity.objects.values_list("key", flat=True)) >= {"breakfast", "passing", "lunch"}
    assert Reading.objects.filter(part=None).count() == 2


def test_adopting_twice_changes_nothing(place: Place, client: Client) -> None:
    told = ticks("us-nj", "us-nj-recess-k5")
    client.post(url(place.year, "rule-adopt"), told)
    before = list(Rule.objects.values()), SchoolYear.objects.get().revision
    again = client.post(url(place.year, "rule-adopt"), told, follow=True)
    assert "Nothing changed: the year has all of these already." in again.text
    assert (list(Rule.objects.values()), SchoolYear.objects.get().revision) == before
    preview = client.post(url(place.year, "rule-adopt-preview"), told, headers=HTMX).context["said"]
    assert preview.summary == "Nothing changes: the year has all of these already."
    (line,) = [line for section in _form(client, place).page.sections for line in section.lines]
    assert (line.state, line.offered) == ("yours already, but not for grade 5", True)


def _form(client: Client, place: Place) -> Any:
    return client.get(url(place.year, "rule-library", "us-nj")).context["form"]


def test_more_grades_widen_a_rule(place: Place, client: Client) -> None:
    client.post(url(place.year, "rule-adopt"), ticks("us-nj", "us-nj-recess-k5"))
    wider = ticks("us-nj", "us-nj-recess-k5", grades="4, 5")
    said = client.post(url(place.year, "rule-adopt-preview"), wider, headers=HTMX).context["said"]
    assert said.widened == [("Recess on each full day", "now also for grade 5")]
    answer = client.post(url(place.year, "rule-adopt"), wider, follow=True)
    assert "1 rule given more grades." in answer.text
    assert Rule.objects.get().grades == ["4", "5"]


def test_a_mapping_that_makes_a_rule_look_met_is_cautioned_in_the_school_s_words(place: Place, client: Client) -> None:
    told = ticks("us-mo", "us-mo-recommended-4-6-reading", reading="reading", language_arts="reading")
    preview = client.post(url(place.year, "rule-adopt-preview"), told, headers=HTMX)
    (caution,) = preview.context["said"].cautions
    assert caution.endswith(
        "does not count language arts, yet your Reading holds it too: it may look met when it is not."
    )


def test_an_activity_of_the_library_s_name_is_proposed_whatever_its_key(place: Place, client: Client) -> None:
    Activity.objects.filter(key="math").update(key="numbers", name="MATHEMATICS")
    begin(place.year)
    form = client.get(url(place.year, "rule-library", "us-ca")).context["form"]
    assert form["map-math"].value() == "numbers"
    assert form["map-breakfast"].value() == ""
    client.post(url(place.year, "rule-adopt"), ticks("us-ca", "us-ca-math-framework", math="numbers"))
    assert Rule.objects.get().body["pool"] == {"of": ["numbers"]}
    assert not Activity.objects.filter(key="math").exists()


@pytest.mark.parametrize(
    ("told", "field", "sentence"),
    [
        (ticks("us-nj"), "rule", "Tick the rules to adopt."),
        (ticks("us-nj", "us-nj-recess-k5", grades=""), "grades", "Say for which grades, as in 3-5."),
        (ticks("us-nj", "us-ca-pe-1-6"), "rule", "us-ca-pe-1-6"),
        (ticks("us-nj", "us-nj-recess-k5", recess="chess"), "map-recess", "chess"),
    ],
)
def test_a_refusal_stands_at_its_field_and_the_ticks_stay(
    place: Place, client: Client, told: dict[str, Any], field: str, sentence: str
) -> None:
    for name in ("rule-adopt", "rule-adopt-preview"):
        answer = client.post(url(place.year, name), told)
        assert answer.status_code == 422
        assert sentence in answer.context["form"].errors[field][0]
        assert answer.context["form"].ticked == set(told["rule"])
    assert not Rule.objects.exists()


@pytest.mark.parametrize(
    ("told", "calm"),
    [
        (ticks("us-nj", "us-nj-recess-k5", grades=" "), "Say for which grades"),
        (ticks("us-nj"), "Tick rules"),
    ],
)
def test_the_preview_waits_calmly_for_what_is_not_said_yet_and_adopting_refuses(
    place: Place, client: Client, told: dict[str, Any], calm: str
) -> None:
    shown = client.post(url(place.year, "rule-adopt-preview"), told, headers=HTMX)
    assert shown.status_code == 200
    assert f'<p class="empty">{calm}' in shown.text
    assert client.post(url(place.year, "rule-adopt"), told).status_code == 422


def test_a_year_without_grades_asks_for_them_and_takes_rules_before_there_are_classrooms(
    place: Place, client: Client
) -> None:
    Classroom.objects.all().delete()
    Team.objects.all().delete()
    place.year.bell_schedules.all().delete()
    form = client.get(url(place.year, "rule-library", "us-nj")).context["form"]
    assert (form["grades"].value(), form.ticked) == ("", {"us-nj-recess-k5"})
    answer = client.post(url(place.year, "rule-adopt"), ticks("us-nj", "us-nj-recess-k5", grades="K-5"), follow=True)
    assert "1 rule added. No classroom is in these grades yet." in answer.text
    make_classroom(place.year, "later", ("3",))
    assert Rule.objects.get().grades == ["K", "1", "2", "3", "4", "5"]


def test_an_adoption_is_taken_back_whole_and_each_rule_of_it_can_come_back(place: Place, client: Client) -> None:
    kept = Rule.objects.create(year=place.year, key="own", name="Own", grades=["4"], body={"at_least": 1})
    adopted = client.post(
        url(place.year, "rule-adopt"), ticks("us-ca", "us-ca-pe-1-6", "us-ca-math-framework"), follow=True
    )
    assert "Take 2 rules out again" in adopted.text
    ids = adopted.context["just_adopted"]
    undone = client.post(url(place.year, "rule-adopt-undo"), {"rule": ids}, follow=True)
    assert "2 rules taken out again." in undone.text
    assert keys() == {"own"}
    assert {one.name for one in undone.context["retired"]} == {
        "Physical education in ten days",
        "Mathematics on each day",
    }
    client.post(reverse("scheduling:rule-bring-back", args=[place.year.pk, ids[0]]))
    assert len(keys()) == 2
    # A rule of another year cannot be taken out by its number.
    other = SchoolYear.objects.create(
        school=place.year.school, name="next", first_day=place.year.first_day, last_day=place.year.last_day
    )
    client.post(url(other, "rule-adopt-undo"), {"rule": [kept.pk]})
    assert "own" in keys()


junk = st.one_of(
    st.text(max_size=8), st.sampled_from(["us-ca", "us-ca-pe-1-6", "4", "K-5", "recess", "pe", "\x00", "9" * 30])
)
FIELDS = ("place", "grades", "rule", "map-recess", "map-lunch", "map-pe", "map-none")


@given(told=st.dictionaries(st.sampled_from(FIELDS), st.lists(junk, max_size=3), max_size=6))
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_is_sent_is_adopted_whole_or_refused_whole(
    place: Place, client: Client, told: dict[str, list[str]]
) -> None:
    before = Rule.objects.count()
    assert client.post(url(place.year, "rule-adopt-preview"), told).status_code in (200, 422)
    assert Rule.objects.count() == before
    answer = client.post(url(place.year, "rule-adopt"), told)
    assert answer.status_code in (302, 422)
    if answer.status_code == 422:
        assert Rule.objects.count() == before
    assert client.post(url(place.year, "rule-adopt-undo"), told).status_code == 302
