"""Calendar entries against the worked examples of RFC 5545, Internet Calendaring and Scheduling (September 2009).

Source: the RFC's own text, sections 3.6.1 (events, the exclusive DTEND) and 3.8.5.3 (recurrence rules). Every
example of 3.8.5.3 that repeats by days is here, with the dates that it prints; those that repeat within a
day are refused by name, as a school's calendar counts days.
"""

import datetime as dt
import re

import pytest

from scheduling.calendar_reading.ics import ReadCalendar, read_calendar
from scheduling.calendar_reading.spans import dates_of

NEW_YORK = "America/New_York"
MONTHS = [f"{dt.date(2000, month, 1):%B}" for month in range(1, 13)]


def read(event: str, first: str, last: str) -> ReadCalendar:
    lines = "\r\n".join(line.strip() for line in event.strip().splitlines())
    text = (
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\nBEGIN:VEVENT\r\nUID:one\r\nSUMMARY:Example\r\n"
        f"{lines}\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
    )
    return read_calendar(
        text.encode(), first_day=dt.date.fromisoformat(first), last_day=dt.date.fromisoformat(last), zone=NEW_YORK
    )


def dates(event: str, first: str, last: str) -> list[dt.date]:
    found = read(event, first, last)
    assert not found.unread
    return sorted(date for entry in found.entries for span in entry.spans for date in dates_of(span))


def written(text: str) -> list[dt.date]:
    """`1997 September 2-4,9; October 1` as dates; a year holds until the next one."""
    found: list[dt.date] = []
    year = month = 0
    for word in re.findall(r"\d+-\d+|\d+|[A-Z][a-z]+", text):
        if word in MONTHS:
            month = MONTHS.index(word) + 1
        elif len(word) == 4 and word.isdigit():
            year = int(word)
        else:
            first, _, last = word.partition("-")
            found += [dt.date(year, month, day) for day in range(int(first), int(last or first) + 1)]
    return found


DTSTART = "DTSTART;TZID=America/New_York:"
EXAMPLES = [
    ("19970902T090000", "FREQ=DAILY;COUNT=10", "1998-08-31", "1997 September 2-11"),
    (
        "19970902T090000",
        "FREQ=DAILY;UNTIL=19971224T000000Z",
        "1998-08-31",
        "1997 September 2-30; October 1-31; November 1-30; December 1-23",
    ),
    (
        "19970902T090000",
        "FREQ=DAILY;INTERVAL=2",
        "1997-10-26",
        "1997 September 2,4,6,8,10,12,14,16,18,20,22,24,26,28,30; October 2,4,6,8,10,12,14,16,18,20,22,24,26",
    ),
    ("19970902T090000", "FREQ=DAILY;INTERVAL=10;COUNT=5", "1998-08-31", "1997 September 2,12,22; October 2,12"),
    (
        "19980101T090000",
        "FREQ=YEARLY;UNTIL=20000131T140000Z;BYMONTH=1;BYDAY=SU,MO,TU,WE,TH,FR,SA",
        "2001-01-01",
        "1998 January 1-31 1999 January 1-31 2000 January 1-31",
    ),
    (
        "19980101T090000",
        "FREQ=DAILY;UNTIL=20000131T140000Z;BYMONTH=1",
        "2001-01-01",
        "1998 January 1-31 1999 January 1-31 2000 January 1-31",
    ),
    (
        "19970902T090000",
        "FREQ=WEEKLY;COUNT=10",
        "1998-08-31",
        "1997 September 2,9,16,23,30; October 7,14,21,28; November 4",
    ),
    (
        "19970902T090000",
        "FREQ=WEEKLY;UNTIL=19971224T000000Z",
        "1998-08-31",
        "1997 September 2,9,16,23,30; October 7,14,21,28; November 4,11,18,25; December 2,9,16,23",
    ),
    (
        "19970902T090000",
        "FREQ=WEEKLY;INTERVAL=2;WKST=SU",
        "1998-02-17",
        "1997 September 2,16,30; October 14,28; November 11,25; December 9,23 1998 January 6,20; February 3,17",
    ),
    (
        "19970902T090000",
        "FREQ=WEEKLY;UNTIL=19971007T000000Z;WKST=SU;BYDAY=TU,TH",
        "1998-08-31",
        "1997 September 2,4,9,11,16,18,23,25,30; October 2",
    ),
    (
        "19970902T090000",
        "FREQ=WEEKLY;COUNT=10;WKST=SU;BYDAY=TU,TH",
        "1998-08-31",
        "1997 September 2,4,9,11,16,18,23,25,30; October 2",
    ),
    (
        "19970901T090000",
        "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971224T000000Z;WKST=SU;BYDAY=MO,WE,FR",
        "1998-08-31",
        "1997 September 1,3,5,15,17,19,29; October 1,3,13,15,17,27,29,31; November 10,12,14,24,26,28; "
        "December 8,10,12,22",
    ),
    (
        "19970902T090000",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH",
        "1998-08-31",
        "1997 September 2,4,16,18,30; October 2,14,16",
    ),
    (
        "19970905T090000",
        "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
        "1998-08-31",
        "1997 September 5; October 3; November 7; December 5 1998 January 2; February 6; March 6; April 3; May 1; "
        "June 5",
    ),
    (
        "19970905T090000",
        "FREQ=MONTHLY;UNTIL=19971224T000000Z;BYDAY=1FR",
        "1998-08-31",
        "1997 September 5; October 3; November 7; December 5",
    ),
    (
        "19970907T090000",
        "FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU",
        "1998-08-31",
        "1997 September 7,28; November 2,30 1998 January 4,25; March 1,29; May 3,31",
    ),
    (
        "19970922T090000",
        "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO",
        "1998-08-31",
        "1997 September 22; October 20; November 17; December 22 1998 January 19; February 16",
    ),
    (
        "19970928T090000",
        "FREQ=MONTHLY;BYMONTHDAY=-3",
        "1998-02-26",
        "1997 September 28; October 29; November 28; December 29 1998 January 29; February 26",
    ),
    (
        "19970902T090000",
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=2,15",
        "1998-08-31",
        "1997 September 2,15; October 2,15; November 2,15; December 2,15 1998 January 2,15",
    ),
    (
        "19970930T090000",
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1",
        "1998-08-31",
        "1997 September 30; October 1,31; November 1,30; December 1,31 1998 January 1,31; February 1",
    ),
    (
        "19970910T090000",
        "FREQ=MONTHLY;INTERVAL=18;COUNT=10;BYMONTHDAY=10,11,12,13,14,15",
        "2000-08-31",
        "1997 September 10-15 1999 March 10-13",
    ),
    (
        "19970902T090000",
        "FREQ=MONTHLY;INTERVAL=2;BYDAY=TU",
        "1998-03-31",
        "1997 September 2,9,16,23,30; November 4,11,18,25 1998 January 6,13,20,27; March 3,10,17,24,31",
    ),
    (
        "19970610T090000",
        "FREQ=YEARLY;COUNT=10;BYMONTH=6,7",
        "2005-01-01",
        "1997 June 10; July 10 1998 June 10; July 10 1999 June 10; July 10 2000 June 10; July 10 2001 June 10; July 10",
    ),
    (
        "19970310T090000",
        "FREQ=YEARLY;INTERVAL=2;COUNT=10;BYMONTH=1,2,3",
        "2010-01-01",
        "1997 March 10 1999 January 10; February 10; March 10 2001 January 10; February 10; March 10 "
        "2003 January 10; February 10; March 10",
    ),
    (
        "19970101T090000",
        "FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200",
        "2010-01-01",
        "1997 January 1; April 10; July 19 2000 January 1; April 9; July 18 2003 January 1; April 10; July 19 "
        "2006 January 1",
    ),
    ("19970519T090000", "FREQ=YEARLY;BYDAY=20MO", "1999-12-31", "1997 May 19 1998 May 18 1999 May 17"),
    ("19970512T090000", "FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO", "1999-12-31", "1997 May 12 1998 May 11 1999 May 17"),
    (
        "19970313T090000",
        "FREQ=YEARLY;BYMONTH=3;BYDAY=TH",
        "1999-12-31",
        "1997 March 13,20,27 1998 March 5,12,19,26 1999 March 4,11,18,25",
    ),
    (
        "19970605T090000",
        "FREQ=YEARLY;BYDAY=TH;BYMONTH=6,7,8",
        "1998-12-31",
        "1997 June 5,12,19,26; July 3,10,17,24,31; August 7,14,21,28 "
        "1998 June 4,11,18,25; July 2,9,16,23,30; August 6,13,20,27",
    ),
    (
        "19970913T090000",
        "FREQ=MONTHLY;BYDAY=SA;BYMONTHDAY=7,8,9,10,11,12,13",
        "1998-06-30",
        "1997 September 13; October 11; November 8; December 13 1998 January 10; February 7; March 7; April 11; "
        "May 9; June 13",
    ),
    (
        "19961105T090000",
        "FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8",
        "2004-12-31",
        "1996 November 5 2000 November 7 2004 November 2",
    ),
    (
        "19970904T090000",
        "FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3",
        "1998-08-31",
        "1997 September 4; October 7; November 6",
    ),
    (
        "19970929T090000",
        "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
        "1998-03-31",
        "1997 September 29; October 30; November 27; December 30 1998 January 29; February 26; March 30",
    ),
    (
        "19970805T090000",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO",
        "1998-08-31",
        "1997 August 5,10,19,24",
    ),
    (
        "19970805T090000",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU",
        "1998-08-31",
        "1997 August 5,17,19,31",
    ),
    (
        "20070115T090000",
        "FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5",
        "2008-08-31",
        "2007 January 15,30; February 15; March 15,30",
    ),
]


@pytest.mark.parametrize(("start", "rule", "until", "expected"), EXAMPLES, ids=[rule for _, rule, _, _ in EXAMPLES])
def test_the_examples_of_recurrence_rules_fall_on_the_dates_that_the_standard_prints(
    start: str, rule: str, until: str, expected: str
) -> None:
    assert dates(f"{DTSTART}{start}\nRRULE:{rule}", "1996-01-01", until) == written(expected)


def test_every_friday_the_thirteenth_leaves_out_the_date_it_is_begun_on() -> None:
    # 3.8.5.3, with an EXDATE for the DTSTART that does not fit the rule.
    event = f"{DTSTART}19970902T090000\nEXDATE;TZID=America/New_York:19970902T090000\n"
    found = dates(f"{event}RRULE:FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13", "1996-01-01", "2000-12-31")
    assert found == written("1998 February 13; March 13; November 13 1999 August 13 2000 October 13")


@pytest.mark.parametrize(
    "rule",
    [
        "FREQ=HOURLY;INTERVAL=3;UNTIL=19970902T170000Z",
        "FREQ=MINUTELY;INTERVAL=15;COUNT=6",
        "FREQ=MINUTELY;INTERVAL=90;COUNT=4",
        "FREQ=DAILY;BYHOUR=9,10,11,12,13,14,15,16;BYMINUTE=0,20,40",
        "FREQ=MINUTELY;INTERVAL=20;BYHOUR=9,10,11,12,13,14,15,16",
    ],
)
def test_the_examples_that_repeat_within_a_day_are_left_out_by_name(rule: str) -> None:
    found = read(f"{DTSTART}19970902T090000\nRRULE:{rule}", "1996-01-01", "1998-08-31")
    assert found.entries == ()
    assert found.unread == (("Example", "it repeats within a day, as no school calendar does"),)


def test_the_end_of_an_event_is_exclusive() -> None:
    # 3.6.1: June 28th, 2007 to July 8th, 2007 inclusively, written with a DTEND of July 9th.
    found = dates("DTSTART;VALUE=DATE:20070628\nDTEND;VALUE=DATE:20070709", "2007-01-01", "2007-12-31")
    assert found == written("2007 June 28-30; July 1-8")


def test_an_event_without_an_end_takes_its_one_day() -> None:
    # 3.6.1: a DATE without DTEND or DURATION lasts one day; the anniversary of November 2nd, every year.
    found = dates("DTSTART;VALUE=DATE:19971102\nRRULE:FREQ=YEARLY", "1997-01-01", "1999-12-31")
    assert found == written("1997 November 2 1998 November 2 1999 November 2")


def test_a_moment_in_universal_time_falls_on_the_date_that_the_school_s_clock_shows() -> None:
    # 3.4: the party from 17:00 to 04:00 in universal time, which is 13:00 to midnight on July 14th in New York.
    assert dates("DTSTART:19970714T170000Z\nDTEND:19970715T040000Z", "1997-01-01", "1997-12-31") == written(
        "1997 July 14"
    )
