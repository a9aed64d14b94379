"""The shipped rules: complete, well formed, and written as a school file writes them."""

import datetime as dt
import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from scheduling.minutes.definitions import part_faults, rule_from, written_parts
from scheduling.rule_library.class_sizes import size_rules
from scheduling.rule_library.library import (
    Jurisdiction,
    UnknownJurisdiction,
    activity_names,
    all_rules,
    jurisdiction,
    jurisdictions,
    on_day_kinds,
    renamed,
)
from teamroom.school_file.checking import sound_document
from tests.outside.schools import blocks, every_day, library_rules, one_week, school

SCHEMA = Path(__file__).parents[2] / "teamroom" / "school_file" / "schema.json"
GRADES = ("PK", "K", *(str(grade) for grade in range(1, 13)))


def words(text: str) -> tuple[str, ...]:
    return tuple(text.split())


# The published requirements that were read in a stored copy of their source.
SEEN = words("""
us-ca-annual-k us-ca-annual-1-3 us-ca-annual-4-8 us-ca-minday-k us-ca-minday-1-3 us-ca-minday-4-8
us-ca-minday-avg10-4-8 us-ca-maxday-k us-tx-annual-operation us-va-annual us-va-recess-cap us-ny-annual-k6
us-il-day us-nv-day us-wi-annual us-ma-annual-elem us-or-annual-k8 us-mt-annual us-ks-annual us-ia-week
us-ar-day us-nh-maxday-elem us-ca-pe-1-6 us-fl-pe-k5 us-ny-pe-k6 us-or-pe-k5 us-wa-pe-1-8 us-sc-pe-k5
us-ms-activity-k8 us-in-reading-k3 us-al-math-k5 us-va-core4-elem us-la-k-shares us-tx-dli-50pct us-ny-enl-k8
us-az-eld-k5 us-fl-recess-k5 us-il-play-k5 us-nj-recess-k5 us-tx-mvpa-k5 us-co-activity-elem
us-nyc-pe-credit-cap us-mo-recommended-1-3 us-ca-annual-reduced-2009-15 us-ca-minday-avg10-k
us-ca-minday-avg10-1-3 us-tx-day-equivalent us-tx-prek-half us-ny-annual-half-k us-ny-week-2017 us-la-day
us-wv-day us-wa-annual us-wi-recess-cap us-mn-annual us-mi-annual us-oh-annual-k6 us-ga-day-mean-k3
us-in-day-1-6 us-nh-annual-elem us-hi-annual us-al-day us-ca-pe-elem-1-8 us-ca-pe-7-12 us-ca-pe-alt-6
us-or-pe-6-8 us-ms-health-k8 us-mo-specials-elem us-mo-core-middle us-mo-pe-middle us-hi-pe us-wv-pe-k
us-wv-reading-k2 us-wv-math-k2 us-fl-reading-k5 us-va-core4-half-k us-va-core4-75pct us-la-fl-4-6
us-la-arts-health-1-6 us-la-nonpublic-skills us-ar-recess-elem us-mo-recess-elem us-mo-activity-elem
us-va-activity-k5 us-nc-mvpa-k8 us-mo-recommended-4-6 us-wi-recommended-k6 us-nyc-recommended-k5
us-ny-core-7-8 us-ca-math-framework us-nc-pe-recommended
""")
# Recalled, but not found in any source that could be opened: they stay out of the library.
FROM_MEMORY = ("us-ga-day-mean-4-5", "us-nc-annual", "us-al-allotments-1-3", "us-al-allotments-4-6")
SIZES_SEEN = words("""
us-ca-size-k us-ca-size-1-3 us-ca-size-4-8 us-ca-size-k3-gsa us-ca-size-combo us-tx-size-k4
us-tx-size-district us-fl-size us-tn-size us-wv-size us-wv-size-aide us-ok-size us-ga-size us-nc-size
us-al-size us-ar-size us-de-size us-ky-size us-la-size us-me-size us-ma-size us-nyc-size-contract
us-sc-size-pe us-ny-span-enl
""")


def expressed() -> set[str]:
    return {published for rule in all_rules() for published in rule.ids}


def test_every_requirement_read_in_a_source_is_in_the_library() -> None:
    assert len(SEEN) == 91
    assert expressed() == set(SEEN)


def test_requirements_known_only_from_memory_are_left_out() -> None:
    assert not expressed() & set(FROM_MEMORY)


def test_every_class_size_cap_read_in_a_source_is_in_the_library() -> None:
    assert {rule.id for rule in size_rules()} == set(SIZES_SEEN)


def test_no_two_rules_share_a_key() -> None:
    keys = [rule.key for rule in all_rules()]
    assert len(keys) == len(set(keys))


def test_every_key_begins_with_the_id_it_comes_from() -> None:
    strays = [rule.key for rule in all_rules() if not any(rule.key.startswith(published) for published in rule.ids)]
    assert strays == []


def test_every_id_belongs_to_the_jurisdiction_of_its_file() -> None:
    strays = [rule.key for rule in all_rules() if not all(one.startswith(f"{rule.jurisdiction}-") for one in rule.ids)]
    assert strays == []


@pytest.mark.parametrize("place", jurisdictions().values(), ids=jurisdictions())
def test_the_rules_of_a_place_are_complete_and_read_into_the_counting(place: Jurisdiction) -> None:
    for rule in place.rules:
        assert rule.name and rule.citation.title and rule.read_in and rule.grades, rule.key
        assert set(rule.grades) <= set(GRADES), rule.key
        assert rule.citation.checked == dt.date(2026, 11, 25), rule.key
        assert bool(rule.body) is not bool(rule.not_checkable), rule.key
        assert [fault for _, part in written_parts(rule.body) for fault in part_faults(part)] == [], rule.key
        read = rule_from(rule.body, key=rule.key, grades=frozenset(rule.grades), not_checkable=rule.not_checkable)
        assert bool(read.parts) is bool(rule.body), rule.key


@pytest.fixture(scope="module")
def rule_form() -> Draft202012Validator:
    """The form of one rule, out of the school file's own schema."""
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    return Draft202012Validator({"$defs": schema["$defs"], "$ref": "#/$defs/rule"})


@pytest.mark.parametrize("place", jurisdictions().values(), ids=jurisdictions())
def test_the_rules_of_a_place_are_written_as_the_school_file_asks(
    place: Jurisdiction, rule_form: Draft202012Validator
) -> None:
    faults = [
        (rule.key, error.message) for rule in place.rules for error in rule_form.iter_errors(rule.as_school_file())
    ]
    assert faults == []


@pytest.mark.parametrize("place", jurisdictions().values(), ids=jurisdictions())
def test_a_school_file_with_all_rules_of_a_place_is_sound(place: Jurisdiction) -> None:
    rules = library_rules(*(rule.key for rule in place.rules))
    sound_document(school(one_week(), "4", every_day(blocks(("math", 60))), rules))


def test_the_school_file_refuses_a_rule_with_a_misspelled_piece(rule_form: Draft202012Validator) -> None:
    broken = {**jurisdiction("us-nj").rules[0].as_school_file(), "at_lest": 20}
    assert list(rule_form.iter_errors(broken))


def test_rules_speak_only_of_activities_the_library_names() -> None:
    named = {activity for rule in all_rules() for activity in rule.activities}
    assert named <= set(activity_names())


def test_advice_is_never_given_as_law() -> None:
    loud = [
        rule.key
        for rule in all_rules()
        for _, part in written_parts(rule.body)
        if "recommended" in part and rule.standing != "advice"
    ]
    assert loud == []


def test_every_note_sends_the_reader_back_to_the_official_text() -> None:
    assert all("re-check it against the official text" in rule.note for rule in all_rules())


def test_a_link_is_a_whole_address_and_not_only_a_host() -> None:
    links = [rule.citation.url for rule in all_rules() if rule.citation.url]
    assert links
    assert all(link.startswith("https://") and len(link.split("/", 3)[3]) > 3 for link in links)


def test_an_unknown_jurisdiction_is_answered_with_those_that_have_rules() -> None:
    with pytest.raises(UnknownJurisdiction, match="us-ca"):
        jurisdiction("us-zz")


def test_every_jurisdiction_has_a_name_and_rules() -> None:
    assert len(jurisdictions()) == 33
    assert all(place.name and place.rules for place in jurisdictions().values())


def test_renaming_an_activity_reaches_every_place_of_a_body() -> None:
    body = {
        "all": [
            {"pool": {"of": ["reading", "english"]}, "share": {"at_least": "1/2", "of": {"except": ["lunch"]}}},
            {
                "pool": {"except": ["lunch"]},
                "at_least": 1,
                "caps": [{"activity": "recess", "at_most": 5, "per": "day"}],
                "not_beside": [{"activity": "recess", "beside": "lunch"}],
            },
        ]
    }
    names = {"reading": "ela", "english": "ela", "lunch": "midday", "recess": "yard"}
    assert renamed(body, names) == {
        "all": [
            {"pool": {"of": ["ela"]}, "share": {"at_least": "1/2", "of": {"except": ["midday"]}}},
            {
                "pool": {"except": ["midday"]},
                "at_least": 1,
                "caps": [{"activity": "yard", "at_most": 5, "per": "day"}],
                "not_beside": [{"activity": "yard", "beside": "midday"}],
            },
        ]
    }


def test_a_body_can_be_bound_to_the_day_kinds_of_a_school() -> None:
    body = {"all": [{"pool": {"of": ["pe"]}, "at_least": 1}, {"pool": {"of": ["art"]}, "at_least": 1}]}
    assert [part["day_kinds"] for part in on_day_kinds(body, {"short", "minimum"})["all"]] == [["minimum", "short"]] * 2
