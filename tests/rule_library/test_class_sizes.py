"""What the published class-size caps say to a class."""

from decimal import Decimal

from scheduling.rule_library.class_sizes import suggested_caps


def test_the_maximum_of_a_grade_is_suggested_and_the_mean_only_told() -> None:
    # California Education Code 41376: 32 in any class of grades 1 to 3, 30 as a district mean;
    # 42238.02(d)(3): 24 as a mean at each school. Read in stored copies.
    caps = suggested_caps("us-ca", ["2"])
    assert caps.cap == 32
    assert {(figure.pupils, figure.over) for _, figure in caps.aims} == {
        (Decimal(30), "district"),
        (Decimal(24), "school"),
    }


def test_a_combination_class_answers_to_the_stricter_of_its_grades() -> None:
    # T.C.A. 49-1-104: maximum 25 in K to 3, 30 in grades 4 to 6. Read in a stored copy.
    assert suggested_caps("us-tn", ["3"]).cap == 25
    assert suggested_caps("us-tn", ["4"]).cap == 30
    assert suggested_caps("us-tn", ["3", "4"]).cap == 25


def test_a_class_that_mixes_lower_and_upper_grades_is_told_how_it_is_counted() -> None:
    # 5 CCR 15498.2: a class that mixes K-3 with other grades is counted wholly as K-3. Read in a stored copy.
    assert "us-ca-size-combo" in {rule.key for rule in suggested_caps("us-ca", ["3", "4"]).remarks}


def test_a_ratio_is_never_suggested_as_the_cap_of_a_class() -> None:
    # Delaware, 14 Del. C. 1705A: 22 to 1 in K to 3, a ratio. Read in a comparison table.
    caps = suggested_caps("us-de", ["1"])
    assert caps.cap is None
    assert [figure.pupils for _, figure in caps.aims] == [Decimal(22)]


def test_the_size_that_calls_for_an_aide_stands_apart_from_the_cap() -> None:
    # West Virginia Code 18-5-18a: at most 20 in kindergarten, an aide when over 10. Read in stored copies.
    caps = suggested_caps("us-wv", ["K"])
    assert caps.cap == 20
    assert [figure.pupils for _, figure in caps.aides] == [Decimal(10)]


def test_a_figure_that_is_not_whole_is_kept_exactly() -> None:
    # California Education Code 41376: 29.9 pupils per teacher in grades 4 to 8. Read in a stored copy.
    assert [figure.pupils for _, figure in suggested_caps("us-ca", ["5"]).aims] == [Decimal("29.9")]


def test_grades_without_a_published_cap_have_no_suggestion() -> None:
    assert suggested_caps("us-de", ["5"]).cap is None
    assert suggested_caps("us-de", ["5"]).aims == ()
