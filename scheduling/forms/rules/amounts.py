"""Minutes, days and shares as people type them. Pure: no Django."""

import re

MOST_MINUTES = 1_000_000
MOST_DAYS = 400
MINUTES_IN_A_DAY = 1440

NUMBER = r"[0-9]{1,3}(?:[, ][0-9]{3})+|[0-9]{1,9}"
MINUTES = re.compile(rf"({NUMBER})\s*(?:m|min|mins|minute|minutes)?\.?", re.IGNORECASE)
HOURS = re.compile(
    rf"({NUMBER})(?:\.([0-9]{{1,4}}))?\s*(?:h|hr|hrs|hour|hours)\.?(?:\s*([0-5]?[0-9])\s*(?:m|min|mins|minute|minutes)?\.?)?",
    re.IGNORECASE,
)
PERCENT = re.compile(r"([0-9]{1,9})(?:\.([0-9]{1,6}))?\s*%")
FRACTION = re.compile(r"([0-9]{1,9})\s*/\s*([1-9][0-9]{0,8})")
DECIMAL = re.compile(r"[0-9]{1,9}\.[0-9]{1,9}")
LONGEST_FRACTION = 9


def minutes_typed(text: str) -> int | None:
    """`200`, `36,000`, `990 h`, `5.5 hours` or `5 h 30` as minutes; None for anything else.

    Laws give years in hours, so hours are understood where they come to whole minutes.
    """
    text = text.strip()
    if plain := MINUTES.fullmatch(text):
        return _within(_number(plain[1]))
    hours = HOURS.fullmatch(text)
    if hours is None or (hours[2] and hours[3]):
        return None
    minutes = 60 * _number(hours[1]) + int(hours[3] or 0)
    if hours[2]:
        tenths, rest = divmod(60 * int(hours[2]), 10 ** len(hours[2]))
        if rest:
            return None
        minutes += tenths
    return _within(minutes)


def count_typed(text: str, most: int) -> int | None:
    """A whole number from 1 to `most`; None for anything else."""
    found = re.fullmatch(r"[0-9]{1,6}", text.strip())
    number = int(found[0]) if found else 0
    return number if 1 <= number <= most else None


def share_typed(text: str) -> str | None:
    """`40%`, `2/3` or `0.4` as an exact fraction in writing; None for anything else."""
    text = text.strip()
    if percent := PERCENT.fullmatch(text):
        digits = percent[1] + (percent[2] or "")
        return f"{digits}/1{'00' + '0' * len(percent[2] or '')}" if len(digits) <= LONGEST_FRACTION else None
    if fraction := FRACTION.fullmatch(text):
        return f"{fraction[1]}/{fraction[2]}"
    return text if DECIMAL.fullmatch(text) else None


def share_shown(written: str) -> str:
    """A written fraction as it stands in the form: `40%` where it counts hundredths."""
    whole = re.fullmatch(r"([0-9]+)(/100)?", written)
    if whole is None:
        return written
    return f"{whole[1]}%" if whole[2] else f"{int(whole[1]) * 100}%"


def _number(text: str) -> int:
    return int(re.sub(r"[, ]", "", text))


def _within(minutes: int) -> int | None:
    return minutes if minutes <= MOST_MINUTES else None
