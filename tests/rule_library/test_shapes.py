"""Every shape of rule that was found among the published ones is expressed by the library.

The shapes and the ids that need them follow a reading of 91 published requirements (each rule's
`read_in` names its source). An id may be excused from a shape only here, with the reason.
"""

from collections.abc import Callable
from fractions import Fraction

import pytest

from scheduling.minutes.definitions import rule_from
from scheduling.minutes.rules import Part
from scheduling.rule_library.library import LibraryRule, all_rules

Fits = Callable[[LibraryRule], bool]

ADVICE_OR_LAW = ("at_least", "recommended")
EXCUSED = {
    ("3", "us-ny-annual-k6"): "staff conference days are no school days of a class; its note says so",
    ("4", "us-ny-enl-k8"): "pupils by level: not checkable",
    ("10", "us-fl-reading-k5"): "that its block is uninterrupted is known from memory only",
    ("12", "us-tx-dli-50pct"): "the language of a lesson is not planned: not checkable",
    ("17", "us-ar-day"): "step credit is not modelled; its note says so",
    ("23", "us-tx-day-equivalent"): "its dates were not seen",
}


def parts(rule: LibraryRule) -> tuple[Part, ...]:
    return rule_from(rule.body, key=rule.key, grades=frozenset(rule.grades)).parts


def a_part(fits: Callable[[Part], bool]) -> Fits:
    return lambda rule: any(fits(part) for part in parts(rule))


def joined(word: str) -> Fits:
    return lambda rule: len(rule.body.get(word, ())) > 1


def least(window: str, *kinds: str) -> Fits:
    return a_part(lambda part: part.window.kind == window and part.test.kind in (kinds or ("at_least",)))


def run(rolling: bool, days: int) -> Fits:
    return a_part(
        lambda part: part.window.kind == "run" and (part.window.rolling, part.window.run_days) == (rolling, days)
    )


def mean_with_floor(rule: LibraryRule) -> bool:
    mean, floor = parts(rule)
    return (
        "all" in rule.body
        and mean.mean == "day"
        and floor.window.kind == "day"
        and floor.test.figure < mean.test.figure
    )


def pooled(rule: LibraryRule) -> bool:
    return any(not part.pool.except_ and len(part.pool.activities) > 1 for part in parts(rule))


def pe_inside(rule: LibraryRule) -> bool:
    whole, inner = parts(rule)
    return inner.pool.activities == {"pe"} < whole.pool.activities and inner.test.figure < whole.test.figure


def leaves_out(activity: str) -> Fits:
    return a_part(lambda part: activity not in part.pool)


SHAPES: dict[str, tuple[Fits, str]] = {
    "1": (
        least("day"),
        "us-ca-minday-k us-ca-minday-1-3 us-ca-minday-4-8 us-il-day us-la-day us-nv-day us-wv-day"
        " us-in-day-1-6 us-al-day us-wv-math-k2 us-nc-mvpa-k8 us-ar-recess-elem us-mo-recess-elem",
    ),
    "2": (least("day", "at_most"), "us-ca-maxday-k us-nh-maxday-elem"),
    "3": (
        a_part(lambda part: bool(part.caps or part.share_caps)),
        "us-wi-recess-cap us-va-recess-cap us-nyc-pe-credit-cap us-oh-annual-k6 us-or-annual-k8 us-ny-annual-k6",
    ),
    "4": (
        least("week"),
        "us-fl-pe-k5 us-ny-pe-k6 us-or-pe-k5 us-sc-pe-k5 us-ms-activity-k8 us-ms-health-k8"
        " us-mo-specials-elem us-hi-pe us-la-arts-health-1-6 us-fl-recess-k5 us-ny-enl-k8 us-ny-core-7-8"
        " us-ny-week-2017",
    ),
    "5 fixed": (
        run(False, 10),
        "us-ca-pe-1-6 us-ca-pe-elem-1-8 us-ca-pe-7-12 us-ca-pe-alt-6 us-tx-mvpa-k5 us-mo-core-middle",
    ),
    "5 rolling": (run(True, 10), "us-ca-minday-avg10-k us-ca-minday-avg10-1-3 us-ca-minday-avg10-4-8"),
    "5 five days": (run(True, 5), "us-ia-week"),
    "6": (mean_with_floor, "us-ca-minday-avg10-k us-ca-minday-avg10-1-3 us-ca-minday-avg10-4-8"),
    "7": (
        a_part(lambda part: part.window.kind == "year" and part.mean is not None),
        "us-va-annual us-ga-day-mean-k3 us-wa-pe-1-8 us-or-pe-6-8 us-al-math-k5 us-va-activity-k5 us-mo-activity-elem",
    ),
    "8": (
        least("year", *ADVICE_OR_LAW),
        "us-ca-annual-k us-ca-annual-1-3 us-ca-annual-4-8 us-tx-annual-operation us-ny-annual-k6"
        " us-ny-annual-half-k us-wi-annual us-mn-annual us-ma-annual-elem us-mi-annual us-oh-annual-k6"
        " us-or-annual-k8 us-mt-annual us-ks-annual us-nh-annual-elem us-hi-annual us-wa-annual"
        " us-mo-pe-middle",
    ),
    "9": (least("month"), "us-co-activity-elem"),
    "10": (
        a_part(lambda part: part.test.kind == "unbroken" or part.sitting > 0),
        "us-in-reading-k3 us-wv-reading-k2 us-fl-reading-k5 us-fl-pe-k5 us-fl-recess-k5 us-il-play-k5",
    ),
    "11": (
        a_part(lambda part: part.test.kind == "days_met" or part.window.kind == "day"),
        "us-ny-pe-k6 us-wv-pe-k us-fl-recess-k5 us-nyc-pe-credit-cap",
    ),
    "12": (
        a_part(
            lambda part: (
                part.test.kind == "share" or bool(part.share_caps) or part.test.figure == Fraction(3, 4) * 990 * 60
            )
        ),
        "us-la-k-shares us-la-nonpublic-skills us-va-core4-75pct us-va-recess-cap us-tx-dli-50pct us-wi-recommended-k6",
    ),
    "13": (
        pooled,
        "us-va-core4-elem us-va-core4-half-k us-mo-core-middle us-la-arts-health-1-6 us-la-nonpublic-skills"
        " us-sc-pe-k5 us-ms-activity-k8 us-co-activity-elem",
    ),
    "13 with a member's own minimum": (pe_inside, "us-sc-pe-k5 us-ms-activity-k8"),
    "13 kept apart from PE": (leaves_out("pe"), "us-il-play-k5 us-nj-recess-k5"),
    "14": (joined("any"), "us-az-eld-k5 us-tx-mvpa-k5 us-va-activity-k5 us-mo-activity-elem us-ia-week us-ks-annual"),
    "15": (joined("all"), "us-mi-annual us-mn-annual us-al-math-k5 us-ny-pe-k6"),
    "16": (a_part(lambda part: part.day_kinds is not None), "us-nj-recess-k5 us-il-play-k5"),
    "16 by the week's total": (least("week"), "us-ny-week-2017"),
    "17": (
        lambda rule: "half-day" in rule.only_if,
        "us-ar-day us-ny-annual-half-k us-va-core4-half-k us-co-activity-elem us-mo-specials-elem"
        " us-wi-annual us-in-reading-k3 us-tx-prek-half",
    ),
    "18 prorated": (a_part(lambda part: part.short_window == "prorate"), "us-or-pe-k5"),
    "18 by the mean": (a_part(lambda part: part.mean == "week"), "us-or-pe-6-8"),
    "18 another figure": (lambda rule: "fewer than five days" in rule.only_if, "us-co-activity-elem"),
    "19": (a_part(lambda part: bool(part.not_beside)), "us-ks-annual"),
    "20": (lambda rule: bool(rule.not_checkable), "us-ny-enl-k8 us-az-eld-k5 us-tx-dli-50pct"),
    "21": (lambda rule: bool(rule.not_checkable), "us-wa-annual us-or-annual-k8"),
    "22": (
        a_part(lambda part: part.test.kind == "recommended"),
        "us-mo-recommended-1-3 us-mo-recommended-4-6 us-wi-recommended-k6 us-nyc-recommended-k5"
        " us-ca-math-framework us-nc-pe-recommended",
    ),
    "23": (
        lambda rule: rule.effective_to is not None,
        "us-ca-annual-reduced-2009-15 us-ny-week-2017 us-tx-day-equivalent",
    ),
    "23 from a date on": (lambda rule: rule.effective_from is not None, "us-hi-annual"),
}


def rules_of(published: str) -> list[LibraryRule]:
    return [rule for rule in all_rules() if published in rule.ids]


@pytest.mark.parametrize(
    ("shape", "published"), [(shape, published) for shape, (_, ids) in SHAPES.items() for published in ids.split()]
)
def test_a_requirement_is_expressed_in_its_shape(shape: str, published: str) -> None:
    fits = SHAPES[shape][0]
    expressed = any(fits(rule) for rule in rules_of(published))
    assert expressed is ((shape, published) not in EXCUSED), EXCUSED.get((shape, published))


def test_one_program_can_change_its_period_or_figure_by_grade() -> None:
    """Shape 24: world language by the day up to grade 6, by the week from 7; PE days by grade."""
    windows = {rule.grades: parts(rule)[0].window.kind for rule in rules_of("us-la-fl-4-6")}
    assert windows == {("4", "5", "6"): "day", ("7", "8"): "week"}
    days = {rule.grades[0]: parts(rule)[1].test.figure for rule in rules_of("us-ny-pe-k6")}
    assert days == {"K": 5, "4": 3}


def test_a_combination_class_finds_the_rules_of_both_its_grades() -> None:
    """Shape 25: no source has a rule for combined classes, so each grade keeps its own rule."""
    for grade, figure in (("3", 230), ("4", 240)):
        (rule,) = [
            rule
            for published in ("us-ca-minday-1-3", "us-ca-minday-4-8")
            for rule in rules_of(published)
            if grade in rule.grades and not rule.only_if
        ]
        assert parts(rule)[0].test.figure == figure


def test_rules_keep_their_level_and_a_note_for_local_overlays() -> None:
    """Shape 26."""
    assert {rule.standing for rule in all_rules()} == {"law", "district", "advice"}
    assert all(rule.note for rule in all_rules())


@pytest.mark.parametrize(
    ("key", "counts", "leaves_out"),
    [
        # What counts by place, as read in the sources that each rule names.
        ("us-ca-minday-k", "recess", "lunch"),
        ("us-ca-minday-1-3", "", "lunch recess"),
        ("us-ca-pe-1-6", "", "lunch recess"),
        ("us-tx-annual-operation", "lunch recess passing breakfast", ""),
        ("us-va-annual", "recess passing", "lunch breakfast"),
        ("us-ny-annual-k6", "study", "lunch recess passing"),
        ("us-il-day", "recess", ""),
        ("us-la-day", "", "recess"),
        ("us-nv-day-k-2", "recess passing", "lunch"),
        ("us-wi-annual", "recess passing", "lunch"),
        ("us-ma-annual-elem", "", "lunch recess passing breakfast homeroom undirected_study"),
        ("us-oh-annual-k6", "recess", "lunch breakfast"),
        ("us-or-annual-k8-class-k-3", "recess", ""),
        ("us-mt-annual-k-3", "passing", "lunch recess"),
        ("us-ia-week", "passing", "lunch"),
        ("us-ar-day", "recess", ""),
        ("us-nh-annual-elem", "recess", "lunch passing homeroom"),
        ("us-hi-annual", "lunch recess passing", ""),
    ],
)
def test_what_counts_is_each_rule_s_own(key: str, counts: str, leaves_out: str) -> None:
    """Shape 19."""
    (rule,) = [rule for rule in all_rules() if rule.key == key]
    pool = parts(rule)[0].pool
    assert [activity for activity in counts.split() if activity not in pool] == []
    assert [activity for activity in leaves_out.split() if activity in pool] == []
