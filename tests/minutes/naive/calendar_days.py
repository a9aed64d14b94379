"""The school's dates, one by one: which have pupils, of which kind, and which day of the cycle.

Part of the naive counter, which recounts minutes from the written rules alone so that the real
engine has something independent to agree with. Standard library only; clarity above speed.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

WEEKDAY_KEYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
REGULAR = "regular"


@dataclass(frozen=True)
class SchoolDate:
    """A date with pupils: its day kind and its cycle day ("mon", "A-mon" or "1")."""

    on: date
    kind: str
    cycle_day: str


def day_of(text: str) -> date:
    return date.fromisoformat(text)


def monday_of(on: date) -> date:
    """The first day of the calendar week, which runs Monday to Sunday."""
    return on - timedelta(days=on.weekday())


def every_date(first: date, last: date) -> list[date]:
    dates = []
    on = first
    while on <= last:
        dates.append(on)
        on = on + timedelta(days=1)
    return dates


def dates_of_year(school: dict[str, Any]) -> list[date]:
    year = school["year"]
    return every_date(day_of(year["first_day"]), day_of(year["last_day"]))


def own_kind(school: dict[str, Any], on: date) -> str | None:
    """The kind the year gives to this very date, or None."""
    for named in school["year"].get("days", []):
        if day_of(named["date"]) == on:
            return str(named["kind"])
    return None


def has_pupils(school: dict[str, Any], on: date) -> bool:
    for span in school["year"].get("closed", []):
        if day_of(span["from"]) <= on <= day_of(span["to"]):
            return False
    if on.weekday() >= 5:
        return own_kind(school, on) is not None
    return True


def kind_of(school: dict[str, Any], on: date) -> str:
    """The date's own kind wins over the weekday's standing kind; else regular."""
    own = own_kind(school, on)
    if own is not None:
        return own
    for standing in school["year"].get("standing_kinds", []):
        if standing["day"] == WEEKDAY_KEYS[on.weekday()]:
            return str(standing["kind"])
    return REGULAR


def cycle_day_of(school: dict[str, Any], on: date, dates_with_pupils: list[date]) -> str:
    cycle = school["year"].get("cycle", {})
    kind = cycle.get("kind", "weekdays")
    starts = day_of(cycle.get("starts") or school["year"]["first_day"])
    if kind == "weekdays":
        return WEEKDAY_KEYS[on.weekday()]
    if kind == "alternating weeks":
        # Closed weeks count, and the count runs backwards from `starts` too.
        weeks_apart = (monday_of(on) - monday_of(starts)).days // 7
        letter = "A" if weeks_apart % 2 == 0 else "B"
        return letter + "-" + WEEKDAY_KEYS[on.weekday()]
    return rotating_day(on, dates_with_pupils, starts, cycle.get("length", 6))


def rotating_day(on: date, dates_with_pupils: list[date], starts: date, length: int) -> str:
    """Day 1 is the first school day on or after `starts`; counted forwards and backwards.

    OPEN POINT: no school day on or after `starts`. Read here: the school day that would come after
    the last one is day 1, so the last school day has the highest number.
    """
    steps = 0
    if on >= starts:
        for other in dates_with_pupils:
            if starts <= other < on:
                steps = steps + 1
    else:
        for other in dates_with_pupils:
            if on <= other < starts:
                steps = steps - 1
    return str(steps % length + 1)


def school_dates(school: dict[str, Any]) -> list[SchoolDate]:
    """Every date of the year with pupils, as the calendar has it (day changes not looked at)."""
    with_pupils = [on for on in dates_of_year(school) if has_pupils(school, on)]
    return [SchoolDate(on, kind_of(school, on), cycle_day_of(school, on, with_pupils)) for on in with_pupils]
