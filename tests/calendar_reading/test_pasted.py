"""Pasted lines: a corpus as schools write them, and anything else at all.

That American schools write dates in these ways is common practice, no source.
"""

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.calendar_reading.pasted import MOST_LINES, Line, read_pasted
from scheduling.calendar_reading.spans import Span

FIRST, LAST = dt.date(2026, 8, 24), dt.date(2027, 6, 4)


def one(text: str) -> Line:
    read = read_pasted(text, first_day=FIRST, last_day=LAST)
    assert len(read.lines) == 1
    return read.lines[0]


def span(first: str, last: str, name: str) -> Span:
    return Span(dt.date.fromisoformat(first), dt.date.fromisoformat(last), name)


CORPUS = [
    ("2026-09-07\tLabor Day", "2026-09-07", "2026-09-07", "Labor Day"),
    ("9/7/2026, Labor Day", "2026-09-07", "2026-09-07", "Labor Day"),
    ("09/07/2026\tMonday\tLabor Day", "2026-09-07", "2026-09-07", "Labor Day"),
    ("11/26/26  Thanksgiving", "2026-11-26", "2026-11-26", "Thanksgiving"),
    ("11-26-2026 Thanksgiving", "2026-11-26", "2026-11-26", "Thanksgiving"),
    ("11/26/2026\t11/27/2026\tThanksgiving Break", "2026-11-26", "2026-11-27", "Thanksgiving Break"),
    ("Thanksgiving Break\t11/26/2026\t11/27/2026\t2", "2026-11-26", "2026-11-27", "Thanksgiving Break"),
    ("2026-12-21,2027-01-01,Winter Break", "2026-12-21", "2027-01-01", "Winter Break"),
    ("2026-12-21 to 2027-01-01 Winter Break", "2026-12-21", "2027-01-01", "Winter Break"),
    ('"Nov 26, 2026","Nov 27, 2026","Thanksgiving, no school"', "2026-11-26", "2026-11-27", "Thanksgiving, no school"),
    ("Nov 26 Thanksgiving", "2026-11-26", "2026-11-26", "Thanksgiving"),
    ("Jan. 18: Martin Luther King Jr. Day", "2027-01-18", "2027-01-18", "Martin Luther King Jr. Day"),
    ("Nov 26-27, 2026, Thanksgiving Break", "2026-11-26", "2026-11-27", "Thanksgiving Break"),
    ("Nov 26 & 27 Thanksgiving Break", "2026-11-26", "2026-11-27", "Thanksgiving Break"),
    ("Nov 26, 27 Thanksgiving Break", "2026-11-26", "2026-11-27", "Thanksgiving Break"),
    ("Mon, Nov 23 2026\tConference day", "2026-11-23", "2026-11-23", "Conference day"),
    ("Thanksgiving Break: November 25 - 27", "2026-11-25", "2026-11-27", "Thanksgiving Break"),
    ("Dec 21 - Jan 1, 2027 Winter Break", "2026-12-21", "2027-01-01", "Winter Break"),
    ("Dec 21, 2026 - Jan 1 Winter Break", "2026-12-21", "2027-01-01", "Winter Break"),
    ("December 21st through January 1st: Winter Recess", "2026-12-21", "2027-01-01", "Winter Recess"),
    ("Thursday, November 26 – Friday, November 27\tBreak", "2026-11-26", "2026-11-27", "Break"),
    ("26-Nov-26,Thanksgiving", "2026-11-26", "2026-11-26", "Thanksgiving"),
    ("26 Nov 2026 - 27 Nov 2026\tBreak", "2026-11-26", "2026-11-27", "Break"),
    ("Friday 10/16 Staff development day", "2026-10-16", "2026-10-16", "Staff development day"),
    ("11/26-27 Break", "2026-11-26", "2026-11-27", "Break"),
    ("11/26-12/04 x", "2026-11-26", "2026-12-04", "x"),
    ("9/7 (Mon): Labor Day", "2026-09-07", "2026-09-07", "Labor Day"),
    ("• Feb 15 – Presidents’ Day", "2027-02-15", "2027-02-15", "Presidents’ Day"),
    ("May 31, '27 Memorial Day", "2027-05-31", "2027-05-31", "Memorial Day"),
    ("3/29/2027;4/2/2027;Spring Break", "2027-03-29", "2027-04-02", "Spring Break"),
    ("11/26/2026", "2026-11-26", "2026-11-26", "Closed"),
    ("July 4 Independence Day", "2027-07-04", "2027-07-04", "Independence Day"),
    ("11/25/2026 12:30 dismissal", "2026-11-25", "2026-11-25", "12:30 dismissal"),
]


@pytest.mark.parametrize(("text", "first", "last", "name"), CORPUS, ids=[text for text, *_ in CORPUS])
def test_lines_as_schools_write_them_are_understood(text: str, first: str, last: str, name: str) -> None:
    line = one(text)
    assert line.span == span(first, last, name), line.fault


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("Tue, Nov 23 2026 Conferences", "is a Monday, not a Tuesday"),
        ("2/30/2027 nothing", "there is no 2/30/2027"),
        ("31/12/2026 New Year's Eve", "the month comes first"),
        ("Spring break", "No date was found"),
        ("Oct 12, Oct 13, Oct 14 Break", "more than two dates"),
        ("Nov 26, 28 Break", "several days apart"),
        ("Feb 15-12 Break", "comes before the first"),
        ("Dec 24 we meet again Jan 4", "two dates apart"),
        ("11/26/2026 " + "x" * 130, "longer than 120 letters"),
        ("x" * 500, "too long"),
    ],
)
def test_a_line_that_is_not_understood_says_why_and_how_to_mend_it(text: str, why: str) -> None:
    line = one(text)
    assert line.span is None
    assert why.lower() in line.fault.lower()


def test_lines_keep_the_numbers_they_were_pasted_with() -> None:
    read = read_pasted("Start\tEnd\tName\n\n9/7/2026\t\tLabor Day\nwhat?\n", first_day=FIRST, last_day=LAST)
    assert read.headings == (1,)
    assert [(line.number, line.span is None) for line in read.lines] == [(3, False), (4, True)]


def test_a_first_line_with_a_date_is_no_heading() -> None:
    assert one("School holiday 9/7/2026").span == span("2026-09-07", "2026-09-07", "School holiday")


def test_more_lines_than_are_read_at_once_are_counted() -> None:
    read = read_pasted("9/7/2026 Labor Day\n" * (MOST_LINES + 3), first_day=FIRST, last_day=LAST)
    assert (len(read.lines), read.left_off) == (MOST_LINES, 3)


PATTERNS = (
    "%Y-%m-%d",
    "%m/%d/%Y",
    "%m/%d/%y",
    "%b %d, %Y",
    "%B %d %Y",
    "%a, %b %d %Y",
    "%d-%b-%y",
    "%d %B %Y",
    "%A, %B %d, %Y",
)
WORDS = st.sampled_from(["Winter Break", "No school", "Teacher work day", "Labor Day", "Recess", "Fall conference"])
DATES = st.dates(dt.date(2020, 1, 1), dt.date(2069, 12, 31))


APART = st.sampled_from(["\t", ", ", "   "])


@given(first=DATES, days=st.integers(0, 60), name=WORDS, how=st.sampled_from(PATTERNS), apart=APART)
def test_what_is_written_with_a_year_comes_back(first: dt.date, days: int, name: str, how: str, apart: str) -> None:
    last = first + dt.timedelta(days=days)
    for text in (
        f"{first:{how}}{apart}{last:{how}}{apart}{name}",
        f"{name}{apart}{first:{how}} - {last:{how}}",
        f"{first:{how}} to {last:{how}}{apart}{name}",
    ):
        assert one(text).span == Span(first, last, name), text


@given(date=st.dates(FIRST, LAST), name=WORDS, how=st.sampled_from(["%m/%d", "%b %d", "%B %d", "%a %b %d", "%d %b"]))
def test_a_date_without_a_year_is_the_school_year_s(date: dt.date, name: str, how: str) -> None:
    assert one(f"{date:{how}}\t{name}").span == Span(date, date, name)


ANY = st.text(
    st.one_of(st.sampled_from("0123456789/-., \t\n\r&'’\"()–novdecmontoth"), st.characters(codec="utf-8")), max_size=300
)


@settings(max_examples=400)
@given(text=ANY, first=st.dates(), days=st.integers(0, 700))
def test_any_text_is_read_and_nothing_is_raised(text: str, first: dt.date, days: int) -> None:
    last = dt.date.fromordinal(min(first.toordinal() + days, dt.date.max.toordinal()))
    for line in read_pasted(text, first_day=first, last_day=last).lines:
        assert (line.span is None) == bool(line.fault)
        if line.span is not None:
            assert line.span.first <= line.span.last
            assert line.span.name.strip()
            assert "\n" not in line.span.name
