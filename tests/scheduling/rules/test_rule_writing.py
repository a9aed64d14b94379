"""A rule's body into the form and back: nothing is lost, and what the form takes a school file takes."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.forms.rules.amounts import minutes_typed, share_shown, share_typed
from scheduling.forms.rules.typed import BodyTyped, CapTyped, PairTyped, PartTyped, PoolTyped, body_posted, body_typed
from scheduling.forms.rules.writing import (
    Known,
    body_shown,
    body_written,
    faults_by_field,
    kept_as_written,
    known_to,
)
from scheduling.minutes.definitions import part_faults, rule_from, written_parts
from scheduling.minutes.rules import Rule
from scheduling.rule_library.library import LibraryRule, activity_names, all_rules
from teamroom.school_file.form import held_to_form
from tests.scheduling.rules.written_rules import bodies

ACTIVITIES = ("reading", "math", "science", "pe", "recess", "lunch", "art")
KINDS = ("regular", "minimum")
KNOWN = Known(ACTIVITIES, KINDS)
CHECKABLE = [rule for rule in all_rules() if not rule.not_checkable]


def meaning(body: dict[str, Any]) -> Rule:
    rule = rule_from(body, key="r", grades=frozenset())
    # Of one part it makes no difference whether all or any must hold.
    return (
        rule_from({"all": [part for _, part in written_parts(body)]}, key="r", grades=frozenset())
        if len(rule.parts) == 1
        else rule
    )


def through_the_form(body: dict[str, Any], known: Known) -> dict[str, Any]:
    """Shown in the form, posted by a browser, and read again."""
    read, faults = body_written(body_typed(body_posted(body_shown(body))), known)
    assert faults == []
    return read


@pytest.mark.parametrize("rule", CHECKABLE, ids=[rule.key for rule in CHECKABLE])
def test_every_published_rule_comes_through_the_form_word_for_word(rule: LibraryRule) -> None:
    body = dict(rule.body)
    known = known_to(activity_names(), KINDS, body)
    assert through_the_form(body, known) == body


@given(bodies(ACTIVITIES, KINDS))
@settings(max_examples=400, deadline=None)
def test_any_rule_comes_through_the_form_with_its_meaning_and_unchanged_with_its_words(body: dict[str, Any]) -> None:
    read = through_the_form(body, KNOWN)
    assert meaning(read) == meaning(body)
    assert kept_as_written(read, body) == body


@given(bodies(ACTIVITIES, KINDS), bodies(ACTIVITIES, KINDS))
@settings(max_examples=200, deadline=None)
def test_what_is_kept_as_it_was_written_never_changes_what_is_asked(new: dict[str, Any], old: dict[str, Any]) -> None:
    assert meaning(kept_as_written(new, old)) == meaning(new)


def in_a_school_file(body: dict[str, Any]) -> dict[str, Any]:
    return {
        "format": "teamroom school file",
        "version": 1,
        "school": {"name": "Hilltop", "time_zone": "America/Denver"},
        "year": {"name": "2026-27", "first_day": "2026-09-07", "last_day": "2027-06-01"},
        "rules": [{"key": "r", "name": "R", "grades": ["4"], **body}],
    }


texts = st.one_of(
    st.sampled_from(
        ["", "0", "1", "200", "36,000", "990 h", "5 h 30", "40%", "2/3", "0.4", "1/0", "-1", "1e3", "²", "1" * 30]
    ),
    st.text(max_size=8),
)
keys = st.one_of(st.sampled_from(ACTIVITIES), st.text(max_size=5))
typed_pools = st.builds(
    PoolTyped, st.sampled_from(["of", "except", "none"]), st.lists(keys, max_size=3, unique=True).map(tuple)
)
typed_parts = st.builds(
    PartTyped,
    pool=typed_pools,
    test=st.sampled_from(["at_least", "at_most", "recommended", "unbroken", "share", "days_met", "?"]),
    amount=texts,
    share=texts,
    base=typed_pools,
    days=texts,
    day_minutes=texts,
    window=st.sampled_from(["day", "week", "run", "month", "year", "?"]),
    run_days=texts,
    run=st.sampled_from(["fixed", "rolling", "?"]),
    mean=st.sampled_from(["", "", "day", "week", "?"]),
    sitting=texts,
    caps=st.lists(st.builds(CapTyped, keys, texts, st.sampled_from(["day", "year", "share", "?"])), max_size=2).map(
        tuple
    ),
    pairs=st.lists(st.builds(PairTyped, keys, keys), max_size=2).map(tuple),
    day_kinds=st.lists(st.sampled_from([*KINDS, "?"]), max_size=2, unique=True).map(tuple),
    short_window=st.sampled_from(["", "", "full", "prorate", "skip", "?"]),
)
typed_bodies = st.builds(
    BodyTyped,
    st.sampled_from(["all", "any", "?"]),
    st.dictionaries(st.integers(0, 999), typed_parts, min_size=1, max_size=3),
)


@given(typed_bodies)
@settings(max_examples=600, deadline=None)
def test_what_the_form_takes_a_school_file_takes_and_what_it_refuses_stands_at_a_field(typed: BodyTyped) -> None:
    body, faults = body_written(typed, KNOWN)
    if not faults:
        assert held_to_form(in_a_school_file(body)).faults == []
        assert [fault for _, part in written_parts(body) for fault in part_faults(part)] == []
        rule_from(body, key="r", grades=frozenset())
    for fault in faults:
        assert fault.part in typed.parts
        assert fault.sentence.endswith(".")
        assert hasattr(PartTyped(), fault.field) or fault.field in ("activities", "base", "join")


@given(typed_bodies)
@settings(deadline=None)
def test_what_is_posted_is_what_was_typed(typed: BodyTyped) -> None:
    again = body_typed(body_posted(typed))
    assert body_posted(again).keys() == body_posted(typed).keys()
    assert list(again.parts) == list(typed.parts)
    for number, part in again.parts.items():
        assert part.pool == typed.parts[number].pool
        assert part.caps == tuple(cap for cap in typed.parts[number].caps if not cap.blank)


@given(
    st.dictionaries(
        st.sampled_from(["part", "join", "p0-test", "p0-activities", "p0-cap_most", "p0-pair_beside"]),
        st.lists(st.text(max_size=4), max_size=4),
    )
)
@settings(deadline=None)
def test_any_post_at_all_is_read_as_some_form(posted: dict[str, list[str]]) -> None:
    body_written(body_typed(posted), KNOWN)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("200", 200), (" 200 min ", 200), ("36,000", 36_000), ("36 000", 36_000), ("990 h", 59_400),
        ("990 hours", 59_400),
        ("5.5 h", 330), ("5 h 30", 330), ("1,080 h", 64_800), ("6 h 5 min", 365), ("0", 0), ("1000000", 1_000_000),
        ("1000001", None), ("5.51 h", None), ("5.25 h", 315), ("", None), ("-5", None), ("3,00", None), ("two", None),
        ("20.5", None), ("5.5 h 30", None), ("²", None), ("99999999999999999999", None),
    ],
)  # fmt: skip
def test_minutes_as_people_type_them(text: str, minutes: int | None) -> None:
    assert minutes_typed(text) == minutes


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("40%", "40/100"), ("40 %", "40/100"), ("12.5%", "125/1000"), ("2/3", "2/3"), ("2 / 3", "2/3"), ("0.4", "0.4"),
        ("40", None), ("", None), ("1/0", None), ("-1/2", None), ("%", None),
    ],
)  # fmt: skip
def test_shares_as_people_type_them(text: str, share: str | None) -> None:
    assert share_typed(text) == share


def test_a_share_of_hundredths_is_shown_in_percent() -> None:
    assert [share_shown(text) for text in ("40/100", "2/3", "0.4", "1")] == ["40%", "2/3", "0.4", "100%"]


ALL_TIME = PoolTyped("except")
REFUSED = [
    (PartTyped(amount="60"), "activities", "Tick what counts, or choose all planned time."),
    (PartTyped(PoolTyped("of", ("math",))), "amount", "Say how many minutes."),
    (
        PartTyped(PoolTyped("of", ("chess",)), amount="1"),
        "activities",
        "The year has no activity “chess”: choose one it has.",
    ),
    (
        PartTyped(ALL_TIME, amount="sixty"),
        "amount",
        "Write whole minutes, as in 200, or hours, as in 990 h: at most 1,000,000 minutes.",
    ),
    (PartTyped(ALL_TIME, test="share"), "share", "Say how large a share, as in 40%."),
    (PartTyped(ALL_TIME, test="share", share="40"), "share", "Write the share as 40%, 2/3 or 0.4."),
    (PartTyped(ALL_TIME, test="days_met"), "days", "Say how many days: a whole number from 1 to 400."),
    (
        PartTyped(ALL_TIME, amount="1", window="run"),
        "run_days",
        "Say how many school days: a whole number from 1 to 400.",
    ),
    (
        PartTyped(ALL_TIME, test="unbroken", amount="1", mean="day"),
        "mean",
        "A mean says nothing about this test: choose “in all”.",
    ),
    (
        PartTyped(ALL_TIME, test="unbroken", amount="1", caps=(CapTyped("math", "5"),)),
        "caps",
        "This test knows no such limit: take it out, or ask for minutes.",
    ),
    (
        PartTyped(ALL_TIME, amount="1", caps=(CapTyped("", "5"),)),
        "caps",
        "Say which activity the limit is for, or clear the row.",
    ),
    (
        PartTyped(ALL_TIME, amount="1", pairs=(PairTyped("math"),)),
        "pairs",
        "Name both activities of the pair, or clear the row.",
    ),
    (
        PartTyped(ALL_TIME, amount="1", window="month", short_window="prorate"),
        "short_window",
        "A month cannot be asked its due share: choose the full figure, or leave it out.",
    ),
]


@pytest.mark.parametrize(("part", "field", "sentence"), REFUSED)
def test_a_fault_stands_at_its_field_and_says_how_to_mend_it(part: PartTyped, field: str, sentence: str) -> None:
    _, faults = body_written(BodyTyped("all", {4: part}), KNOWN)
    assert faults_by_field(faults) == {4: {field: sentence}}


def test_a_second_part_begins_with_the_pool_of_the_first_and_the_last_part_is_never_lost() -> None:
    first = PartTyped(PoolTyped("of", ("pe",)), amount="150")
    two = BodyTyped("all", {0: first}).with_part()
    assert two.parts == {0: first, 1: PartTyped(PoolTyped("of", ("pe",)))}
    assert two.without_part(0).parts == {1: PartTyped(PoolTyped("of", ("pe",)))}
    assert two.without_part(7).parts == two.parts
    assert BodyTyped("all", {0: first}).without_part(0).parts == {0: PartTyped()}


def test_an_activity_that_the_rule_names_may_stay_though_the_year_has_it_no_more() -> None:
    body = {"pool": {"of": ["cursive"]}, "at_least": 30, "window": "week"}
    assert body_written(body_shown(body), known_to(ACTIVITIES, KINDS, body)) == (body, [])
    assert body_written(body_shown(body), KNOWN)[1]
