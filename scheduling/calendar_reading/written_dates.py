"""Dates as people in American schools write them, found in a line of text.

Understood: 2026-11-26; 11/26/2026, 11/26/26, 11-26-2026 and 11/26 (month first); Nov 26, Nov. 26th,
November 26, 2026; 26-Nov-26 and 26 Nov 2026 as spreadsheets write them; each with or without its
weekday. A date without a year takes the one that puts it into the school year. Common practice, no
source.
"""

import datetime as dt
import re
from collections.abc import Iterator
from dataclasses import dataclass

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
WEEKDAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
CENTURY = 2000

_MONTH = (
    r"(?:jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?"
    r"|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)\b\.?"
)
_DAY = r"\d{1,2}(?:st|nd|rd|th)?(?!\w|:\d)"
WEEKDAY = r"(?:mon|tue|wed|thu|fri|sat|sun)(?:s|nes|rs|ur|r)?(?:day)?\b\.?"
DATE = re.compile(
    rf"""(?<![\w/])(?:(?P<weekday>{WEEKDAY})\s*,?\s*)?(?:
    (?P<iso_y>\d{{4}})-(?P<iso_m>\d{{1,2}})-(?P<iso_d>\d{{1,2}})(?![\w-])
    |(?P<us_m>\d{{1,2}})(?P<sep>[/.-])(?P<us_d>\d{{1,2}})(?P=sep)(?P<us_y>\d{{4}}|\d{{2}})(?![\w/]|:\d)
    |(?P<short_m>\d{{1,2}})/(?P<short_d>\d{{1,2}})(?![\w/]|:\d)
    |(?P<dm_d>\d{{1,2}})(?:st|nd|rd|th)?(?:\s+|-)(?P<dm_m>{_MONTH})
        (?:-(?P<dm_yy>\d{{4}}|\d{{2}})(?!\w)|,?\s+(?P<dm_y>\d{{4}})(?!\w))?
    |(?P<md_m>{_MONTH})\s*(?P<md_d>{_DAY})(?:,?\s+(?P<md_y>\d{{4}})(?!\w)|,?\s+['’](?P<md_yy>\d{{2}})(?!\w))?
    )""",
    re.VERBOSE | re.IGNORECASE,
)
_TO = r"\s*(?:-|–|—|\bto\b|\bthrough\b|\bthru\b|\buntil\b)\s*"
TO = re.compile(_TO, re.IGNORECASE)
DAY_ALONE = re.compile(
    rf"(?:{_TO}|\s*(?P<and>&|\band\b|,)\s*)(?P<day>\d{{1,2}})(?:st|nd|rd|th)?"
    rf"(?![\w:]|[.-]\d|/(?!\d{{4}})|[\s-]*{_MONTH})(?:(?:,?\s+|/)(?P<year>\d{{4}})(?!\w))?",
    re.IGNORECASE,
)
"""The end of `Nov 26-27, 2026` and of `11/26-27`: a day without its month."""


class NoSuchDate(ValueError):
    """A date that no calendar has, or not on that weekday; the message says which."""


@dataclass(frozen=True, slots=True)
class Written:
    """A date as written, from `start` to `end` of its line; without a year where none was given."""

    year: int | None
    month: int
    day: int
    weekday: int | None
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Around:
    """The school year by which a date without a year is understood."""

    first: dt.date
    last: dt.date


def dates_in(text: str) -> Iterator[Written]:
    """Every date written in a text, in order."""
    for found in DATE.finditer(text):
        yield _written(found)


def _written(found: re.Match[str]) -> Written:
    part = found.groupdict()
    month = next(part[name] for name in ("iso_m", "us_m", "short_m", "dm_m", "md_m") if part[name])
    day = next(part[name] for name in ("iso_d", "us_d", "short_d", "dm_d", "md_d") if part[name])
    year = next((part[name] for name in ("iso_y", "us_y", "dm_yy", "dm_y", "md_y", "md_yy") if part[name]), None)
    weekday = part["weekday"]
    return Written(
        year=_full(year),
        month=int(month) if month.isdigit() else MONTHS.index(month[:3].lower()) + 1,
        day=int(re.match(r"\d+", day)[0]),  # type: ignore[index]  # a day begins with its digits
        weekday=WEEKDAYS.index(weekday[:3].lower()) if weekday else None,
        start=found.start(),
        end=found.end(),
    )


def _full(year: str | None) -> int | None:
    if year is None:
        return None
    return int(year) if len(year) == 4 else CENTURY + int(year)


def date_of(written: Written, around: Around, *, not_before: dt.date | None = None) -> dt.date:
    """The date meant. Without a year it is the one in the school year, or else nearest to it;
    `not_before` for the end of a range. Raises NoSuchDate."""
    if written.year is not None:
        return checked(written, _date(written.year, written.month, written.day))
    years = range(around.first.year - 1, around.last.year + 2)
    fitting = [date for year in years if (date := _fitting(year, written)) is not None]
    if not_before is not None:
        fitting = [date for date in fitting if date >= not_before]
    if not fitting:
        raise NoSuchDate(f"there is no {written.month}/{written.day}")
    return checked(written, min(fitting, key=lambda date: (_off(date, around), date)))


def latest_until(written: Written, end: dt.date) -> dt.date:
    """The last date so written, without its year, that does not come after an end. Raises NoSuchDate."""
    for year in (end.year, end.year - 1):
        date = _fitting(year, written)
        if date is not None and date <= end:
            return checked(written, date)
    raise NoSuchDate(f"there is no {written.month}/{written.day} before {end:%b} {end.day}, {end.year}")


def checked(written: Written, date: dt.date) -> dt.date:
    """The date, if it falls on the weekday beside it. Raises NoSuchDate."""
    if written.weekday is not None and date.weekday() != written.weekday:
        raise NoSuchDate(
            f"{date:%b} {date.day}, {date.year} is a {WEEKDAY_NAMES[date.weekday()]}, "
            f"not a {WEEKDAY_NAMES[written.weekday]}: check the year and the weekday"
        )
    return date


def _date(year: int, month: int, day: int) -> dt.date:
    try:
        return dt.date(year, month, day)
    except ValueError:
        raise NoSuchDate(f"there is no {month}/{day}/{year}: the month comes first, then the day") from None


def _fitting(year: int, written: Written) -> dt.date | None:
    try:
        return dt.date(year, written.month, written.day)
    except ValueError:
        return None


def _off(date: dt.date, around: Around) -> int:
    """How many days a date lies off the school year."""
    return max((around.first - date).days, (date - around.last).days, 0)
