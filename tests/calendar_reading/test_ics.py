"""Calendar files: a district's as it comes, hostile ones, and any bytes at all."""

import datetime as dt
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.calendar_reading.apart import LARGEST_FILE, LONGEST_WAIT, read_apart
from scheduling.calendar_reading.ics import NAMELESS, NotACalendar, ReadCalendar, read_calendar
from scheduling.calendar_reading.plain import calendar_from, entry_from, plain_calendar
from scheduling.calendar_reading.spans import dates_of

FIRST, LAST = dt.date(2026, 8, 24), dt.date(2027, 6, 4)
CHICAGO = "America/Chicago"


def event(*lines: str) -> str:
    return "\r\n".join(["BEGIN:VEVENT", *lines, "END:VEVENT"])


def calendar(*events: str, head: str = "") -> bytes:
    opened = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//test//EN", *([head] if head else [])]
    return "\r\n".join([*opened, *events, "END:VCALENDAR", ""]).encode()


def read(*events: str, head: str = "") -> ReadCalendar:
    return read_calendar(calendar(*events, head=head), first_day=FIRST, last_day=LAST, zone=CHICAGO)


def told(found: ReadCalendar) -> list[tuple[str, str, str]]:
    return [
        (entry.name, span.first.isoformat(), span.last.isoformat()) for entry in found.entries for span in entry.spans
    ]


def refused(data: bytes) -> str:
    with pytest.raises(NotACalendar) as why:
        read_apart(data, first_day=FIRST, last_day=LAST, zone=CHICAGO)
    return str(why.value)


BREAK = event("UID:1", "DTSTART;VALUE=DATE:20261126", "DTEND;VALUE=DATE:20261128", "SUMMARY:Thanksgiving Break")


def test_a_district_s_calendar_gives_its_days_in_order() -> None:
    found = read(
        event("UID:2", "DTSTART;VALUE=DATE:20260907", "SUMMARY:Labor Day - No School"),
        BREAK,
        event(
            "UID:3",
            "DTSTART;TZID=America/Chicago:20260902T123000",
            "DTEND;TZID=America/Chicago:20260902T150000",
            "RRULE:FREQ=WEEKLY;UNTIL=20260930T235959Z;BYDAY=WE",
            "EXDATE;TZID=America/Chicago:20260909T123000",
            "SUMMARY:Early Release",
        ),
        event("UID:4", "DTSTART:20261002T000000Z", "DTEND:20261002T020000Z", "SUMMARY:Board meeting"),
    )
    assert told(found) == [
        ("Early Release", "2026-09-02", "2026-09-02"),
        ("Early Release", "2026-09-16", "2026-09-16"),
        ("Early Release", "2026-09-23", "2026-09-23"),
        ("Early Release", "2026-09-30", "2026-09-30"),
        ("Labor Day - No School", "2026-09-07", "2026-09-07"),
        ("Board meeting", "2026-10-01", "2026-10-01"),
        ("Thanksgiving Break", "2026-11-26", "2026-11-27"),
    ]
    assert [entry.minutes for entry in found.entries] == [150, None, 120, None]


def test_days_of_one_name_that_follow_each_other_are_one_entry_over_the_weekend_too() -> None:
    days = ("20261221", "20261222", "20261223", "20261224", "20261225", "20261228")
    found = read(*(event(f"UID:{day}", f"DTSTART;VALUE=DATE:{day}", "SUMMARY:Winter Break") for day in days))
    assert told(found) == [("Winter Break", "2026-12-21", "2026-12-28")]


def test_what_is_cancelled_moved_or_outside_the_year_is_told_apart() -> None:
    found = read(
        event("UID:1", "DTSTART;VALUE=DATE:20260901", "RRULE:FREQ=WEEKLY;COUNT=4", "SUMMARY:Assembly"),
        event(
            "UID:1",
            "RECURRENCE-ID;VALUE=DATE:20260908",
            "DTSTART;VALUE=DATE:20260908",
            "STATUS:CANCELLED",
            "SUMMARY:Assembly",
        ),
        event("UID:1", "RECURRENCE-ID;VALUE=DATE:20260915", "DTSTART;VALUE=DATE:20260917", "SUMMARY:Assembly, moved"),
        event("UID:2", "DTSTART;VALUE=DATE:20261001", "STATUS:CANCELLED", "SUMMARY:Gone"),
        event("UID:3", "DTSTART;VALUE=DATE:20250101", "SUMMARY:Long ago"),
    )
    assert told(found) == [
        ("Assembly", "2026-09-01", "2026-09-01"),
        ("Assembly", "2026-09-22", "2026-09-22"),
        ("Assembly, moved", "2026-09-17", "2026-09-17"),
    ]
    assert (found.cancelled, found.outside) == (1, 1)


def test_an_entry_that_reaches_over_the_year_s_end_is_cut_to_the_year() -> None:
    found = read(event("UID:1", "DTSTART;VALUE=DATE:20270601", "DTEND;VALUE=DATE:20270801", "SUMMARY:Summer"))
    assert told(found) == [("Summer", "2027-06-01", "2027-06-04")]


def test_whole_days_written_as_midnights_are_whole_days() -> None:
    found = read(event("UID:1", "DTSTART:20261010T000000", "DTEND:20261012T000000", "SUMMARY:Retreat"))
    assert told(found) == [("Retreat", "2026-10-10", "2026-10-11")]
    assert found.entries[0].minutes is None


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_names_are_read_in_the_encodings_that_programs_write(encoding: str) -> None:
    text = calendar(event("UID:1", "DTSTART;VALUE=DATE:20270331", "SUMMARY:César Chávez Day")).decode()
    found = read_calendar(text.encode(encoding), first_day=FIRST, last_day=LAST, zone=CHICAGO)
    assert [entry.name for entry in found.entries] == ["César Chávez Day"]


def test_an_entry_that_cannot_be_read_spoils_no_other() -> None:
    found = read(
        BREAK,
        event("UID:2", "SUMMARY:No date"),
        event("UID:3", "DTSTART;VALUE=DATE:2026xx01", "SUMMARY:Broken"),
        event("UID:4", "DTSTART:20260901T080000", "RRULE:FREQ=SECONDLY", "SUMMARY:Every second"),
        event("UID:5", "DTSTART;VALUE=DATE:20260901", "RRULE:FREQ=SOMETIMES", "SUMMARY:Sometimes"),
        event("UID:7", "DTSTART;VALUE=DATE:20260901", "RRULE:FREQ=DAILY;INTERVAL=0", "SUMMARY:On the spot"),
        event("UID:6", "DTSTART;VALUE=DATE:20260910"),
    )
    assert [entry.name for entry in found.entries] == [NAMELESS, "Thanksgiving Break"]
    assert [name for name, _ in found.unread] == ["No date", "Broken", "Every second", "Sometimes", "On the spot"]


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "no calendar file"),
        (b"Date,Name\n9/7/2026,Labor Day\n", "no calendar file"),
        (b"PK\x03\x04" + bytes(range(256)) * 40, "no calendar file"),
        (b"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nSUMMARY", "damaged"),
        (b"x" * (LARGEST_FILE + 1), "larger than 2 MiB"),
        (calendar(*[event(f"UID:{n}", "DTSTART;VALUE=DATE:20260901") for n in range(4001)]), "more than 4,000"),
        (calendar(BREAK, head="METHOD:CANCEL"), "takes entries back"),
    ],
    ids=["empty", "a table", "a program", "cut off", "too large", "too many", "cancelling"],
)
def test_what_is_no_calendar_or_too_much_of_one_is_refused_with_what_to_do(data: bytes, why: str) -> None:
    assert why in refused(data)


@pytest.mark.parametrize(
    "data",
    [
        # The 30th of February, every day until it comes.
        calendar(
            *(
                event(f"UID:{n}", "DTSTART;VALUE=DATE:20260901", "RRULE:FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30")
                for n in range(40)
            )
        ),
        # Every day since the year 1, forty times.
        calendar(*(event(f"UID:{n}", "DTSTART;VALUE=DATE:00010101", "RRULE:FREQ=DAILY") for n in range(40))),
    ],
    ids=["never comes", "since the beginning"],
)
def test_a_file_that_asks_for_endless_work_is_stopped(data: bytes) -> None:
    begun = time.monotonic()
    assert "too long" in refused(data)
    assert time.monotonic() - begun < LONGEST_WAIT + 5


def test_a_file_is_read_apart_as_it_is_read_here() -> None:
    data = calendar(BREAK, event("UID:2", "SUMMARY:No date"))
    assert read_apart(data, first_day=FIRST, last_day=LAST, zone=CHICAGO) == read(
        BREAK, event("UID:2", "SUMMARY:No date")
    )


STARTS = st.sampled_from(
    """DTSTART;VALUE=DATE:20261126|DTSTART;VALUE=DATE:20260901|DTSTART:20261126T080000Z|DTSTART:20261126T080000
DTSTART;TZID=America/New_York:20261126T080000|DTSTART;TZID=Nowhere/Else:20261126T080000|DTSTART:nonsense""".replace(
        "\n", "|"
    ).split("|")
)
LINES = st.sampled_from(
    """DTSTART;VALUE=DATE:20261126|DTEND;VALUE=DATE:20261128|DTEND:20261126T090000|DTEND:|DURATION:P2D|DURATION:-P1D
DURATION:P99999D|RRULE:FREQ=WEEKLY;COUNT=3|RRULE:FREQ=YEARLY;INTERVAL=0|RRULE:|RDATE:20261201|EXDATE:x|UID:
RRULE:FREQ=MONTHLY;BYDAY=5MO;COUNT=4|RRULE:FREQ=WEEKLY;UNTIL=20261231|RRULE:FREQ=DAILY;COUNT=-1
RDATE;VALUE=DATE:20261201,20261202|EXDATE;VALUE=DATE:20261126|UID:1|UID:2|SUMMARY:No school|SUMMARY:|SEQUENCE:x
SUMMARY:Break\\, fall|STATUS:CANCELLED|RECURRENCE-ID;VALUE=DATE:20261126|SEQUENCE:3|ATTENDEE:|BEGIN:VALARM|END:VALARM
RECURRENCE-ID;RANGE=THISANDFUTURE:20261126T080000Z|X-ANY;A="b":c| folded""".replace("\n", "|").split("|")
)
EVENTS = st.lists(st.builds(lambda start, lines: [start, *lines], STARTS, st.lists(LINES, max_size=6)), max_size=4)


@settings(max_examples=300, deadline=None)
@given(EVENTS)
def test_any_calendar_is_read_or_refused_and_nothing_else_is_raised(events: list[list[str]]) -> None:
    try:
        found = read(*(event(*lines) for lines in events))
    except NotACalendar:
        return
    assert calendar_from(plain_calendar(found)) == found
    for entry in found.entries:
        assert entry.name
        assert all(FIRST <= date <= LAST for span in entry.spans for date in dates_of(span))


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=400), st.booleans())
def test_any_bytes_are_read_or_refused(data: bytes, dressed: bool) -> None:
    data = b"BEGIN:VCALENDAR\r\n" + data + b"\r\nEND:VCALENDAR\r\n" if dressed else data
    try:
        read_calendar(data, first_day=FIRST, last_day=LAST, zone=CHICAGO)
    except NotACalendar as why:
        assert str(why)


PLAIN = st.none() | st.integers() | st.text(max_size=12)


@given(st.recursive(PLAIN, lambda inner: st.lists(inner, max_size=4), max_leaves=8))
def test_entries_that_a_form_did_not_write_are_refused(plain: object) -> None:
    with pytest.raises(ValueError, match=r".*"):
        entry_from(plain)
