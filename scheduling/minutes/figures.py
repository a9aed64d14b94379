"""Figures and periods as people say them. Rounding happens here and nowhere else: to two decimals."""

import datetime as dt
from collections.abc import Sequence
from fractions import Fraction

from scheduling.minutes.rules import Figure, Part
from teamroom.common.clock import said_date

MOST_AS_MINUTES = 120
MINUS = "\N{MINUS SIGN}"
NO_BREAK = "\N{NO-BREAK SPACE}"
WINDOW_NOUNS = {"day": "days", "week": "weeks", "run": "runs", "month": "months", "year": "years"}


def _rounded(value: Figure) -> Fraction:
    return Fraction(round(Fraction(value) * 100), 100)


def size_of(value: Figure) -> Figure:
    """A figure without its sign."""
    return -value if value < 0 else value


def number_said(value: Figure) -> str:
    """A number to two decimals at most, thousands apart: 1,525.25."""
    rounded = _rounded(value)
    if rounded.denominator == 1:
        return f"{rounded.numerator:,}"
    return f"{float(rounded):,.2f}".rstrip("0")


def in_hours(*figures: Figure) -> bool:
    """Whether minutes that stand together are said in hours: one of them is beyond 120."""
    return any(size_of(figure) > MOST_AS_MINUTES for figure in figures)


def minutes_said(minutes: Figure, *, hours: bool | None = None) -> str:
    """`45 min`, or `3 h 20` in hours, which is the way beyond 120 unless `hours` says otherwise."""
    size = abs(_rounded(minutes))
    sign = MINUS if minutes < 0 and size else ""
    if not (in_hours(minutes) if hours is None else hours):
        return f"{sign}{number_said(size)}{NO_BREAK}min"
    whole = int(size // 60)
    rest = size - 60 * whole
    tail = f"{NO_BREAK}{rest.numerator:02d}" if rest.denominator == 1 else f"{NO_BREAK}{number_said(rest)}"
    return f"{sign}{whole:,}{NO_BREAK}h{tail}"


def minutes_in_words(minutes: Figure) -> str:
    """`25 minutes`, `1 minute`, `3 hours 20 minutes`: for sentences."""
    size = abs(_rounded(minutes))
    if not in_hours(size):
        return f"{number_said(size)} minute{'' if size == 1 else 's'}"
    whole = int(size // 60)
    rest = size - 60 * whole
    said = f"{whole:,} hour{'' if whole == 1 else 's'}"
    return said if not rest else f"{said} {number_said(rest)} minute{'' if rest == 1 else 's'}"


def percent_said(share: Figure) -> str:
    return f"{number_said(Fraction(share) * 100)}%"


def share_in_words(share: Figure) -> str:
    """`25%`, but `2/3` where no round percentage says it exactly."""
    percent = Fraction(share) * 100
    return percent_said(share) if percent.denominator == 1 else str(Fraction(share))


def figure_said(part: Part, value: Figure, *, hours: bool) -> str:
    """A planned or required figure in the part's own unit: minutes, days, or a share in percent."""
    if part.test.kind == "share":
        return percent_said(value)
    if part.test.kind == "days_met":
        return f"{number_said(value)}{NO_BREAK}day{'' if value == 1 else 's'}"
    return minutes_said(value, hours=hours)


def margin_said(part: Part, margin: Figure) -> str:
    """A margin with its sign, in minutes or hours by its own size; a share's is in minutes too."""
    sign = "+" if margin > 0 else MINUS if margin < 0 else ""
    if part.test.kind == "days_met":
        return f"{sign}{number_said(size_of(margin))}{NO_BREAK}day{'' if size_of(margin) == 1 else 's'}"
    return sign + minutes_said(size_of(margin))


def amount_in_words(part: Part, amount: Figure) -> str:
    """How much, without a sign, for sentences: `20 minutes`, `1 day`."""
    if part.test.kind == "days_met":
        return f"{number_said(size_of(amount))} day{'' if size_of(amount) == 1 else 's'}"
    return minutes_in_words(amount)


def change_in_words(part: Part, before: Figure, after: Figure) -> str:
    """`25 minutes more than before`; empty where nothing to see has changed."""
    change = after - before
    if not change:
        return ""
    more = "more" if change > 0 else "less"
    if part.test.kind == "share":
        return f"{number_said(abs(Fraction(change)) * 100)} points {more} than before"
    if part.test.kind == "days_met":
        more = "more" if change > 0 else "fewer"
    return f"{amount_in_words(part, change)} {more} than before"


def period_said(part: Part) -> str:
    """What a figure is for: `a week`, `each 10 school days`, `a day, as a mean of the year`."""
    over = {
        "day": "a day",
        "week": "a week",
        "run": f"each {part.window.run_days} school days",
        "month": "a month",
        "year": "in the year",
    }[part.window.kind]
    if part.mean is None:
        return over
    mean_of = {
        "day": "each day",
        "week": "a week",
        "run": f"{part.window.run_days} school days",
        "month": "a month",
        "year": "the year",
    }
    return f"a {part.mean}, as a mean of {mean_of[part.window.kind]}"


def window_said(part: Part, first: dt.date, last: dt.date) -> str:
    """Which window: `week of 7 Sep`, `Mon 7 Sep`, `7 Sep to 18 Sep`, `September`, `the year`."""
    kind = part.window.kind
    if kind == "day":
        return said_date(first)
    if kind == "week":
        return f"week of {first.day} {first:%b}"
    if kind == "month":
        return f"{first:%B}"
    return "the year" if kind == "year" else f"{first.day} {first:%b} to {last.day} {last:%b}"


def windows_said(part: Part, failing: int, windows: int) -> str:
    """`3 of 38 weeks short`, `all 38 weeks met`; empty for the one window of a year."""
    if windows <= 1:
        return ""
    noun = WINDOW_NOUNS[part.window.kind]
    if not failing:
        return f"all {windows:,} {noun} met"
    return f"{failing:,} of {windows:,} {noun} {part.test.failing}"


def listed(words: Sequence[str], joint: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`; `a, b and c, and d` where a word has an `and` of its own."""
    if len(words) < 2:
        return "".join(words)
    comma = "," if any(f" {joint} " in word for word in words) else ""
    return f"{', '.join(words[:-1])}{comma} {joint} {words[-1]}"
