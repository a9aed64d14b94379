"""The word rule: suggestions alone. What the words mean is common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.calendar_reading.day_words import meaning_of

CLOSES = """No School - Teacher Work Day|Winter Break|Spring Recess|Thanksgiving Holiday|Schools Closed|Labor Day
MLK Day|Day After Thanksgiving|Professional Development Day|Staff Development - No School|Presidents' Day|Workday
Election Day - Schools Closed|Teacher In-Service|No School|Non-student day|Fall Break|Student Holiday|No classes
Teacher Planning Day|Memorial Day|Juneteenth|Veterans Day|Good Friday|Mid-Winter Recess|No Students"""
SHORTER = """Early Release Wednesday|Minimum Day|Half-Day|Half Day|Parent-Teacher Conferences (early dismissal)
Late Start|Early Out|Shortened Day|Delayed opening|Min Day|Noon dismissal|Early Dismissal before Winter Break"""
NOTHING = """Board Meeting|Holiday Concert|Classes resume after Winter Break|PTA Breakfast|Last day before winter break
Picture Day|End of first quarter|Recess duty training|Veterans Day Assembly|Holiday Shop|Spring break camp
First day of school|Report cards|Return from Spring Break|Soccer vs. Lakeview|Thanksgiving Luncheon"""


def names(text: str) -> list[str]:
    return [name.strip() for line in text.splitlines() for name in line.split("|")]


@pytest.mark.parametrize("name", names(CLOSES))
def test_names_of_days_without_pupils_close(name: str) -> None:
    assert meaning_of(name).meaning == "closes"


@pytest.mark.parametrize("name", names(SHORTER))
def test_names_of_shorter_days_are_days_all_the_same(name: str) -> None:
    assert meaning_of(name).meaning == "shorter"


@pytest.mark.parametrize("name", names(NOTHING))
def test_other_names_suggest_nothing(name: str) -> None:
    assert meaning_of(name) == ("nothing", "")


def test_an_hour_of_the_day_closes_nothing() -> None:
    assert meaning_of("No School", minutes=60).meaning == "nothing"
    assert meaning_of("Winter Break", minutes=90).meaning == "nothing"
    assert meaning_of("No School", minutes=420).meaning == "closes"
    assert meaning_of("Early release", minutes=150).meaning == "shorter"


@given(st.text(max_size=120))
def test_the_words_that_decide_are_the_name_s_own(name: str) -> None:
    said = meaning_of(name)
    assert said.because in " ".join(name.split()) or said.because.split() == name.split()
    assert bool(said.because) == (said.meaning != "nothing")
