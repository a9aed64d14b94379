"""A year's activities: keys of the app's own, names that tell apart, and nothing removed that is used."""

import string
from collections.abc import Callable
from typing import Any

import pytest
from django.db import IntegrityError
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.models import (
    Activity,
    BellSchedule,
    Block,
    BlockCredit,
    DayChange,
    DayChangeCredit,
    FixedStretch,
    SpecialistPost,
)
from scheduling.rule_library.library import activity_names, jurisdictions
from scheduling.selectors.activity_uses import activity_lines, places_of, uses_of, usual_activities
from scheduling.selectors.year_words import year_words
from scheduling.services.activities import (
    MOST_AT_ONCE,
    add_activities,
    add_usual_activities,
    remove_activity,
    rename_activity,
)
from scheduling.services.rule_adoption import adopt
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import SchoolYear
from tests import factories as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def year() -> SchoolYear:
    return SchoolYear.objects.get(pk=make.make_year().pk)


def keys(year: SchoolYear) -> dict[str, str]:
    return dict(year.activities.values_list("name", "key"))


def one(year: SchoolYear, key: str) -> Activity:
    return Activity.objects.get(year=year, key=key)


def fresh(year: SchoolYear) -> SchoolYear:
    return SchoolYear.objects.select_related("school").get(pk=year.pk)


def test_keys_are_made_from_names_and_are_unique_in_the_year(year: SchoolYear) -> None:
    add_activities(year, ["Morning meeting", "Spanish  I", "Spanish-I", "\N{CJK UNIFIED IDEOGRAPH-6F22}"])
    found = keys(year)
    assert found["Morning meeting"] == "morning-meeting"
    assert (found["Spanish I"], found["Spanish-I"]) == ("spanish-i", "spanish-i-2")
    assert found["\N{CJK UNIFIED IDEOGRAPH-6F22}"] == "activity"


def test_a_name_that_published_rules_use_gets_the_key_by_which_they_speak_of_it(year: SchoolYear) -> None:
    add_activities(year, ["language arts", "Social Studies", "Supervised study"])
    found = keys(year)
    assert [found[name] for name in ("language arts", "Social Studies", "Supervised study")] == [
        "language_arts",
        "social_studies",
        "study",
    ]


def test_what_is_there_already_is_told_and_not_made_twice(year: SchoolYear) -> None:
    done = add_activities(year, ["MATH", "Choir", "choir", " Art "])
    assert [activity.name for activity in done.made] == ["Choir"]
    assert done.there == ["MATH", "choir", "Art"]
    with pytest.raises(RuleBroken, match="All 2 are there already"):
        add_activities(year, ["Math", "Art"])


@pytest.mark.parametrize(
    ("names", "sentence"),
    [
        ([], "at least one"),
        (["  ", "\t"], "at least one"),
        (["Choir", "x" * 121], "Line 2 is 121 characters"),
        ([f"Club {n}" for n in range(MOST_AT_ONCE + 1)], "at most 100 at once"),
    ],
)
def test_what_cannot_be_added_says_why_and_adds_nothing(year: SchoolYear, names: list[str], sentence: str) -> None:
    before = keys(year)
    with pytest.raises(RuleBroken, match=sentence):
        add_activities(year, names)
    assert keys(year) == before


def test_every_change_of_the_names_gives_the_year_a_new_revision(year: SchoolYear) -> None:
    revisions = [fresh(year).revision]
    deeds: list[Callable[[], object]] = [
        lambda: add_activities(year, ["Choir"]),
        lambda: rename_activity(one(year, "choir"), "Singing"),
        lambda: remove_activity(one(year, "choir")),
    ]
    for deed in deeds:
        deed()
        revisions.append(fresh(year).revision)
    assert len(set(revisions)) == len(revisions)


def test_a_renamed_activity_keeps_its_key_and_its_colour_and_every_page_says_the_new_name(year: SchoolYear) -> None:
    before = year_words(fresh(year)).activities[one(year, "math").pk]
    rename_activity(one(year, "math"), "  Numbers   and sums ")
    after = year_words(fresh(year)).activities[before.pk]
    assert (after.name, after.key, after.look) == ("Numbers and sums", "math", before.look)


@pytest.mark.parametrize(
    ("name", "sentence"), [("art", "another activity"), (" ", "Give the activity a name"), ("x" * 121, "at most 120")]
)
def test_a_name_is_refused_that_tells_nothing_apart(year: SchoolYear, name: str, sentence: str) -> None:
    with pytest.raises(RuleBroken, match=sentence):
        rename_activity(one(year, "math"), name)
    assert one(year, "math").name == "Math"


def in_a_block(year: SchoolYear, activity: Activity) -> None:
    room = make.make_classroom(year)
    make.add(make.make_week(room), make.make_teacher(room), ("mon", "08:00", "09:00", activity.key))


def in_credits(year: SchoolYear, activity: Activity) -> None:
    in_a_block(year, one(year, "science"))
    BlockCredit.objects.create(block=Block.objects.get(), place=0, activity=activity, minutes=5)


def in_a_bell(year: SchoolYear, activity: Activity) -> None:
    bell = BellSchedule.objects.filter(year=year).earliest("pk")
    FixedStretch.objects.create(bell_schedule=bell, activity=activity, start=600, end=620)


def in_a_rule(year: SchoolYear, activity: Activity) -> None:
    make.make_rule(year, "floor", {"pool": {"except": [activity.key]}, "at_least": 60})


def in_a_day_change(year: SchoolYear, activity: Activity) -> None:
    change = DayChange.objects.create(year=year, date=make.FIRST_DAY, name="Assembly", start=600, end=660)
    DayChangeCredit.objects.create(day_change=change, place=0, activity=activity, minutes=5)


def in_a_post(year: SchoolYear, activity: Activity) -> None:
    SpecialistPost.objects.create(year=year, member=make.make_member("Pia"), activity=activity)


USES: dict[str, tuple[Callable[[SchoolYear, Activity], None], str]] = {
    "a block": (in_a_block, "Weeks"),
    "a block’s credits": (in_credits, "Weeks"),
    "a fixed stretch": (in_a_bell, "Fixed stretches of the bells"),
    "a rule that leaves it out": (in_a_rule, "Rules"),
    "a day change": (in_a_day_change, "Day changes"),
    "a specialist's post": (in_a_post, "Specialists"),
}


@pytest.mark.parametrize("use", USES)
def test_an_activity_that_is_used_stays_and_says_where(year: SchoolYear, use: str) -> None:
    place, title = USES[use]
    activity = one(year, "art")
    place(year, activity)
    with pytest.raises(RuleBroken, match="Art is used in 1 "):
        remove_activity(activity)
    assert list(places_of(activity)) == [title]
    assert uses_of(year)[activity.pk].said.startswith("1 ")
    assert [line.used.said for line in activity_lines(fresh(year)) if line.pk == activity.pk] == [
        uses_of(year)[activity.pk].said
    ]


def test_every_table_that_points_at_activities_counts_as_a_use() -> None:
    """Whoever adds such a table must teach `uses_of` of it, or removing would fail in the database."""
    pointing = {
        relation.related_model
        for relation in Activity._meta.get_fields(include_hidden=True)
        if relation.auto_created and relation.one_to_many and not relation.related_model._meta.label.endswith("Event")  # type: ignore[union-attr]  # a relation
    }
    assert pointing == {Block, BlockCredit, FixedStretch, DayChangeCredit, SpecialistPost}


def test_an_activity_that_is_used_nowhere_goes(year: SchoolYear) -> None:
    remove_activity(one(year, "art"))
    assert "Art" not in keys(year)


def test_the_usual_ones_are_those_that_a_rule_of_the_library_finds(year: SchoolYear) -> None:
    year.school.place = "US-CA"
    year.school.save()
    offered = {usual.key: usual for usual in usual_activities(fresh(year))}
    assert offered["math"].there == "Math"
    spoken = set().union(*(rule.activities for rule in jurisdictions()["us-ca"].rules))
    assert {key for key, usual in offered.items() if usual.ticked} == spoken - {"math", "reading", "science", "pe"} - {
        "recess",
        "lunch",
        "art",
    }
    before = set(keys(year).values())
    add_usual_activities(year, spoken)
    assert set(keys(year).values()) - before == spoken - before
    make.make_classroom(year)
    assert adopt(year, place=jurisdictions()["us-ca"], grades=["4"]).created == {}


def test_what_the_library_has_as_one_is_not_ticked_beside_its_parts(year: SchoolYear, administrator: Client) -> None:
    year.school.place = "US-WI"
    year.school.save()
    ticked = {usual.key for usual in usual_activities(fresh(year)) if usual.ticked}
    assert "language_arts" in ticked and "english" not in ticked
    shown = administrator.get(f"/years/{year.pk}/activities/usual/").text
    assert "in the rules of Wisconsin; tick it instead of Reading and Language arts where you plan them as one" in shown


def test_nothing_is_ticked_for_a_school_that_said_no_state(year: SchoolYear) -> None:
    assert [usual for usual in usual_activities(year) if usual.ticked] == []
    assert len(usual_activities(year)) == len(activity_names())


@pytest.fixture
def administrator(year: SchoolYear) -> Client:
    client = Client()
    client.force_login(make.make_coordinator(year.school, "Ada", "administrator"))
    return client


def test_a_column_pasted_from_a_sheet_becomes_activities(year: SchoolYear, administrator: Client) -> None:
    pasted = "Choir\t30\r\n\t\r\n\tRobotics\r\n\r\nart\t45\r\n"
    response = administrator.post(f"/years/{year.pk}/activities/add/", {"names": pasted}, follow=True)
    assert "Added Choir and Robotics. Bells, rules and blocks can use them now. art was there already." in response.text
    assert {"Choir", "Robotics"} <= keys(year).keys()


def test_removing_what_is_used_answers_with_its_places(year: SchoolYear, administrator: Client) -> None:
    in_a_block(year, one(year, "art"))
    response = administrator.post(f"/years/{year.pk}/activities/{one(year, 'art').pk}/remove/")
    assert response.status_code == 422
    assert "Art is used in 1 block. Give that time to another activity first." in response.text
    assert "/week/" in response.text


def test_an_activity_of_another_school_is_not_found(year: SchoolYear, administrator: Client) -> None:
    other = one(make.make_year("Elsewhere"), "art")
    for verb in ("", "rename/", "remove/"):
        assert administrator.post(f"/years/{year.pk}/activities/{other.pk}/{verb}").status_code in (404, 405)
    assert administrator.get(f"/years/{year.pk}/activities/{other.pk}/").status_code == 404


NAMES = st.text(
    st.one_of(st.sampled_from(string.printable + "\x00\u2028\ufffe"), st.characters(codec="utf-8")), max_size=140
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(NAMES, max_size=8), st.sampled_from(["names", "name", "keys"]))
def test_whatever_is_typed_is_added_or_refused(
    year: SchoolYear, administrator: Client, typed: list[str], field: str
) -> None:
    before = list(year.activities.order_by("pk").values())
    address = {"names": "add/", "name": f"{one(year, 'math').pk}/rename/", "keys": "usual/"}[field]
    sent: dict[str, Any] = {field: typed if field == "keys" else "\n".join(typed)}
    response = administrator.post(f"/years/{year.pk}/activities/{address}", sent)
    assert response.status_code in (302, 422)
    rows = list(year.activities.order_by("pk").values())
    if response.status_code == 422:
        assert rows == before
    assert len({row["key"] for row in rows}) == len({row["name"].casefold() for row in rows}) == len(rows)


def test_the_database_refuses_a_second_activity_of_a_key(year: SchoolYear) -> None:
    with pytest.raises(IntegrityError):
        Activity.objects.create(year=year, key="math", name="Sums")
