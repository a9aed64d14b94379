"""Times, days and names of activities as people type them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.spreadsheets.days import Days
from scheduling.spreadsheets.names import folded, matches
from scheduling.spreadsheets.times import DAY, HalfDays, NoTime, clock_typed, label_times, reading_of, time_in, times_in
from teamroom.common.clock import written_clock
from tests.spreadsheets.sheets import WEEK


@pytest.mark.parametrize(
    ("typed", "reading", "meant"),
    [
        ("8:15", "12", "08:15"),
        ("08:15", "12", "08:15"),
        ("8.15", "12", "08:15"),
        ("0815", "12", "08:15"),
        ("815", "12", "08:15"),
        ("8:15 am", "12", "08:15"),
        ("8:15AM", "24", "08:15"),
        ("8:15 a.m.", "12", "08:15"),
        ("8:15:00 AM", "12", "08:15"),
        ("8 am", "12", "08:00"),
        ("1:05", "12", "13:05"),
        ("1:05", "24", "01:05"),
        ("6:59", "12", "18:59"),
        ("7:00", "12", "07:00"),
        ("12:30", "12", "12:30"),
        ("12:30 am", "12", "00:30"),
        ("12:30 p", "12", "12:30"),
        ("1:05pm", "24", "13:05"),
        ("13:05", "24", "13:05"),
        ("13:05 pm", "12", "13:05"),
        ("noon", "24", "12:00"),
        ("24:00", "24", "24:00"),
    ],
)
def test_times_as_people_type_them(typed: str, reading: HalfDays, meant: str) -> None:
    assert written_clock(time_in(typed).minutes(reading)) == meant


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("8.3", "“8.3” can be 8:03 or 8:30: write which"),
        ("8", "“8” says no minutes: write it as in 8:00"),
        ("8:75", "“8:75” is no time of day: write it as in 8:15"),
        ("25:00", "“25:00” is no time of day: write it as in 8:15"),
        ("0:15 am", "“0:15 am” is no time of day: write it as in 8:15"),
        ("after lunch", "“after lunch” is no time of day: write it as in 8:15"),
        ("8:15:30", "“8:15:30” is no time of day: write it as in 8:15"),
        ("-1:00", "“-1:00” is no time of day: write it as in 8:15"),
    ],
)
def test_what_is_no_time_says_what_to_write(typed: str, told: str) -> None:
    with pytest.raises(NoTime, match="^") as refused:
        time_in(typed)
    assert str(refused.value) == told


@pytest.mark.parametrize(
    ("typed", "start", "end"),
    [
        ("8:15-9:00", "08:15", "09:00"),
        ("8:15 – 9:00", "08:15", "09:00"),
        ("8:15 to 9:00 am", "08:15", "09:00"),
        ("11:30-12:15 pm", "11:30", "12:15"),
        ("1:05-1:50 pm", "13:05", "13:50"),
        ("8-9 am", "08:00", "09:00"),
        ("11 am - 12:10 pm", "11:00", "12:10"),
        ("9:00 pm - 12:00 am", "21:00", "00:00"),
    ],
)
def test_a_start_and_an_end_in_one_cell(typed: str, start: str, end: str) -> None:
    first, last = times_in(typed)
    assert last is not None
    assert (written_clock(first.minutes()), written_clock(last.minutes())) == (start, end)


@pytest.mark.parametrize(
    ("label", "found"),
    [
        ("Period 1 (8:15-9:00)", True),
        ("8:15 Arrival", True),
        ("1st 8:15", True),
        ("Lunch", False),
        ("9/7/2026", False),
        ("see 8:15 and 9:00", False),
        ("99:99 Arrival", False),
    ],
)
def test_a_rows_label_may_say_more_than_its_time(label: str, found: bool) -> None:
    assert (label_times(label) is not None) == found


@given(st.integers(0, DAY - 1))
def test_a_time_typed_out_is_read_as_it_was_meant_by_either_clock(minutes: int) -> None:
    for reading in ("12", "24"):
        assert time_in(clock_typed(minutes)).minutes(reading) == minutes
        assert time_in(written_clock(minutes)).minutes("24") == minutes


@given(st.text(max_size=12))
def test_whatever_is_typed_is_a_time_of_the_day_or_refused(text: str) -> None:
    try:
        found = time_in(text)
    except NoTime:
        return
    assert 0 <= found.minutes("12") <= DAY and 0 <= found.minutes("24") <= DAY


def test_the_clock_is_asked_about_only_where_it_decides_something() -> None:
    def reading(*typed: str) -> tuple[str, bool]:
        told, decided = reading_of(map(time_in, typed))
        return told, decided is not None

    assert reading("8:15", "12:30", "1:05") == ("12", True)
    assert reading("8:15", "12:30") == ("12", False)
    assert reading("8:15", "13:05") == ("24", False)
    assert reading("1:05", "13:05") == ("24", True)
    assert reading("8:15 am", "1:05 pm") == ("12", False)


@pytest.mark.parametrize(
    ("typed", "days"),
    [
        ("Monday", ["mon"]),
        ("MON.", ["mon"]),
        ("tu", ["tue"]),
        ("Thurs", ["thu"]),
        ("Mon-Wed", ["mon", "tue", "wed"]),
        ("M–F", ["mon", "tue", "wed", "thu", "fri"]),
        ("Tue & Thu", ["tue", "thu"]),
        ("Mon, Wed and Fri", ["mon", "wed", "fri"]),
        ("daily", ["mon", "tue", "wed", "thu", "fri"]),
        ("Monday 9/7", ["mon"]),
        ("Tue 9/8/26", ["tue"]),
        ("2026-09-09", ["wed"]),
        ("2026-09-12", []),
        ("9 7", []),
        ("Fri-Mon", []),
        ("Mon and then", []),
        ("Someday", []),
        ("", []),
    ],
)
def test_days_as_people_write_them(typed: str, days: list[str]) -> None:
    assert WEEK.several(typed) == days


def test_days_of_other_cycles_and_kinds_go_by_their_names() -> None:
    rotation = Days([(str(n), f"Day {n}") for n in range(1, 7)])
    assert [rotation.one(told) for told in ("Day 2", "day2", "D2", "2", "Day 9")] == ["2", "2", "2", "2", None]
    weeks = Days([("A-mon", "Monday of week A"), ("B-mon", "Monday of week B")])
    assert [weeks.one(told) for told in ("A Mon", "Mon B", "Week A Monday", "B-Mon", "Monday")] == [
        "A-mon",
        "B-mon",
        "A-mon",
        "B-mon",
        None,
    ]
    kinds = Days([("mon", "Monday")], [("mon:min", "Monday, when it is a minimum day"), (":min", "Every minimum day")])
    assert kinds.one("every minimum day") == ":min"
    assert kinds.one("Monday when it is a minimum day") == "mon:min"
    assert kinds.several("daily") == ["mon"]


ACTIVITIES = {"math": "Mathematics", "read": "Reading", "pe": "P.E.", "art": "Visual arts", "recess": "Recess"}


def test_names_are_found_whatever_their_case_space_and_punctuation() -> None:
    told = {match.written: (match.key, match.how) for match in matches(["READING", "pe", "Visual  Arts!"], ACTIVITIES)}
    assert told == {"READING": ("read", "exact"), "pe": (None, "unknown"), "Visual  Arts!": ("art", "exact")}
    assert matches(["p. e."], ACTIVITIES)[0].key == "pe"


def test_what_was_chosen_before_is_remembered_while_the_school_has_it() -> None:
    remembered = {"homeroom": "read", "duty": "", "choir": "gone"}
    told = {
        match.written: (match.key, match.how)
        for match in matches(["Homeroom", "Duty", "Choir"], ACTIVITIES, remembered)
    }
    assert told == {"Homeroom": ("read", "remembered"), "Duty": ("", "remembered"), "Choir": (None, "unknown")}


def test_near_names_are_suggested_and_others_left_to_be_chosen() -> None:
    near, begun, unknown = matches(["Readng", "Math", "Lunch"], ACTIVITIES)
    assert (near.key, near.how, begun.key, begun.how) == ("read", "near", "math", "near")
    assert (unknown.key, unknown.how) == (None, "unknown")


def test_two_activities_that_are_written_alike_are_never_chosen_between() -> None:
    both = {"one": "Art", "two": "ART"}
    assert [match.key for match in matches(["art"], both)] == [None]
    assert [match.key for match in matches(["ART"], both)] == ["two"]


def test_each_name_is_asked_about_once() -> None:
    assert [match.written for match in matches(["Duty", "duty ", "DUTY", "Art"], ACTIVITIES)] == ["Duty", "Art"]


@given(st.text(max_size=40))
def test_a_folded_name_stays_as_it_is(text: str) -> None:
    assert folded(folded(text)) == folded(text)
    assert len(folded(text)) <= 80
