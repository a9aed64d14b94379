"""Grades as typed: read as meant, or said which word was not understood."""

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from teamroom.dates.grades import LADDER, LONGEST, MOST, NotUnderstood, parsed_grades, said_grades


@pytest.mark.parametrize(
    ("written", "grades"),
    [
        ("K, 1", ["K", "1"]),
        ("4 5", ["4", "5"]),
        ("5 4", ["5", "4"]),
        ("k", ["K"]),
        ("pre-k; tk", ["PK", "TK"]),
        ("Kindergarten and 1st", ["K", "1"]),
        ("Grade 4", ["4"]),
        ("Grades 3 to 5", ["3", "4", "5"]),
        ("K-2", ["K", "1", "2"]),
        ("3 \N{EN DASH} 5", ["3", "4", "5"]),
        ("4/5", ["4", "5"]),
        ("04, 4, 4th", ["4"]),
        ("PK, TK-1", ["PK", "TK", "K", "1"]),
        ("10 11 12", ["10", "11", "12"]),
        ("", []),
        (" , ;", []),
    ],
)
def test_grades_are_read_as_meant(written: str, grades: list[str]) -> None:
    assert parsed_grades(written) == grades


@pytest.mark.parametrize(
    ("written", "named"), [("4, fith", "fith"), ("13", "13"), ("0", "0"), ("5-3", "5-3"), ("K-fith", "K-fith")]
)
def test_what_is_not_understood_is_said(written: str, named: str) -> None:
    with pytest.raises(NotUnderstood, match=f"\N{LEFT DOUBLE QUOTATION MARK}{named}\N{RIGHT DOUBLE QUOTATION MARK}"):
        parsed_grades(written)


def test_a_schools_own_names_are_known_however_they_are_written() -> None:
    assert parsed_grades("year 3, RECEPTION", also=["Year 3", "Reception"]) == ["Year 3", "Reception"]
    assert parsed_grades("Grade 4 gifted", also=["Grade 4 gifted"]) == ["Grade 4 gifted"]


@given(st.lists(st.sampled_from(LADDER), unique=True), st.sampled_from([", ", " ", ";", " / "]))
def test_grades_as_the_app_keeps_them_are_read_back_in_their_order(grades: list[str], between: str) -> None:
    assert parsed_grades(between.join(grades)) == grades


@given(st.text(), st.lists(st.text(min_size=1, max_size=LONGEST), max_size=3))
def test_whatever_is_typed_gives_known_grades_once_each_or_one_sentence(written: str, also: list[str]) -> None:
    with contextlib.suppress(NotUnderstood):
        grades = parsed_grades(written, also=also)
        assert len(set(grades)) == len(grades) <= MOST
        assert set(grades) <= {*LADDER, *also}


@pytest.mark.parametrize(
    ("grades", "said"),
    [
        (["4"], "grade 4"),
        (["K", "1"], "grades K and 1"),
        (["3", "4", "5"], "grades 3 to 5"),
        (["PK", "TK", "K"], "grades PK to K"),
        (["5", "4", "3"], "grades 5, 4 and 3"),
        (["Year 3", "1", "2"], "grades Year 3, 1 and 2"),
        ([], "no grade"),
    ],
)
def test_grades_are_said_as_people_say_them(grades: list[str], said: str) -> None:
    assert said_grades(grades) == said
