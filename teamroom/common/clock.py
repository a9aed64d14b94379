"""Times of day as people write them and as the code keeps them: minutes since midnight."""

import datetime as dt
import re

WRITTEN = re.compile(r"([01]?\d|2[0-4]):([0-5]\d)")


def minutes_of(written: str) -> int:
    """`09:05` as 545; `24:00` is the midnight that ends the day.

    Raises ValueError with a sentence if it is no time of day.
    """
    found = WRITTEN.fullmatch(written.strip())
    minutes = int(found[1]) * 60 + int(found[2]) if found else None
    if minutes is None or minutes > 24 * 60:
        raise ValueError(f"{written!r} is no time of day: write hours and minutes, as in 09:05.")
    return minutes


def written_clock(minutes: int) -> str:
    """545 as `09:05`."""
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def said_clock(minutes: int) -> str:
    """545 as `9:05`, 785 as `1:05`: the twelve-hour clock, as bell schedules are written.

    From 7 in the morning until 7 in the evening nobody mistakes the half of the day; outside, it
    is said.
    """
    hour, minute = divmod(minutes, 60)
    told = f"{(hour - 1) % 12 + 1}:{minute:02d}"
    if 7 <= hour < 19:
        return told
    return f"{told} {'am' if hour % 24 < 12 else 'pm'}"


def said_span(start: int, end: int) -> str:
    """`9:05\N{EN DASH}9:50`."""
    return f"{said_clock(start)}\N{EN DASH}{said_clock(end)}"


def said_date(date: dt.date) -> str:
    """`Thu 14 Jan`."""
    return f"{date:%a} {date.day} {date:%b}"
