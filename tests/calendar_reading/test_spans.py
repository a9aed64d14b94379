"""What of a span is news to a calendar."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.calendar_reading.spans import Seen, Span, dates_of, fresh, look_at

FIRST, LAST = dt.date(2026, 8, 24), dt.date(2026, 12, 18)


def span(first: str, last: str = "", name: str = "Break") -> Span:
    return Span(dt.date.fromisoformat(first), dt.date.fromisoformat(last or first), name)


def seen(*closed: Span, named: dict[dt.date, str] | None = None) -> Seen:
    shut = {date for one in closed for date in dates_of(one)}
    year = Span(FIRST, LAST, "")
    days = frozenset(date for date in dates_of(year) if date.weekday() < 5 and date not in shut)
    return Seen(FIRST, LAST, closed, days, named or {})


@pytest.mark.parametrize(
    ("wanted", "state", "days"),
    [
        (span("2026-09-07"), "new", 1),
        (span("2026-11-21", "2026-11-29"), "new", 5),
        (span("2026-12-14", "2027-01-01"), "new", 5),
        (span("2026-07-04"), "outside", 0),
        (span("2026-09-05", "2026-09-06"), "no school day", 0),
        (span("2026-10-12"), "closed", 0),
        (span("2026-10-12", "2026-10-13"), "new", 1),
        (span("2026-09-16"), "named", 1),
    ],
)
def test_a_span_is_looked_at_against_the_calendar(wanted: Span, state: str, days: int) -> None:
    look = look_at(wanted, seen(span("2026-10-12", name="Fall day"), named={dt.date(2026, 9, 16): "Minimum day"}))
    assert (look.state, look.days_lost) == (state, days)
    assert look.is_offered == (state == "new")


def test_what_stands_beside_a_span_is_said() -> None:
    calendar = seen(span("2026-10-12", name="Fall day"), named={dt.date(2026, 9, 16): "Minimum day"})
    assert look_at(span("2026-10-12"), calendar).said == "closed already as Fall day"
    assert look_at(span("2026-10-12", "2026-10-13"), calendar).said == "partly closed already as Fall day"
    assert "named as a Minimum day" in look_at(span("2026-09-14", "2026-09-18"), calendar).said
    assert look_at(span("2026-12-14", "2027-01-01"), calendar).said == "partly outside the year"


def test_a_holiday_inside_a_break_does_not_cut_it_in_two() -> None:
    found = fresh([span("2026-11-26", name="Thanksgiving Day"), span("2026-11-23", "2026-11-27")], [], FIRST, LAST)
    assert found == [span("2026-11-23", "2026-11-27")]


SPANS = st.builds(
    lambda start, days, name: Span(start, start + dt.timedelta(days=days), name),
    st.dates(dt.date(2026, 8, 1), dt.date(2027, 1, 10)),
    st.integers(0, 20),
    st.sampled_from("ABC"),
)


@given(st.lists(SPANS, max_size=12), st.lists(SPANS, max_size=5))
def test_the_new_pieces_close_just_what_was_wanted_and_open_and_never_overlap(
    wanted: list[Span], closed: list[Span]
) -> None:
    pieces = fresh(wanted, closed, FIRST, LAST)
    dates = [date for piece in pieces for date in dates_of(piece)]
    asked = {date for one in wanted for date in dates_of(one) if FIRST <= date <= LAST}
    shut = {date for one in closed for date in dates_of(one)}
    assert len(dates) == len(set(dates))
    assert set(dates) == asked - shut
    assert all(any(piece.name == one.name and piece.meets(one.first, one.last) for one in wanted) for piece in pieces)
