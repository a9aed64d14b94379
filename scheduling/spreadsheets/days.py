"""Days as people write them, among the days that a school's week has."""

import datetime as dt
import re
from collections.abc import Iterable, Sequence

from scheduling.spreadsheets.names import folded

SHORT = {
    "monday": ("mon", "mo", "m"),
    "tuesday": ("tue", "tues", "tu", "t"),
    "wednesday": ("wed", "weds", "we", "w"),
    "thursday": ("thu", "thur", "thurs", "th", "r"),
    "friday": ("fri", "fr", "f"),
    "saturday": ("sat", "sa"),
    "sunday": ("sun", "su"),
}
DAILY = {"daily", "every day", "everyday", "each day", "all days", "all week", "all", "every school day"}
RANGE = re.compile(r"\s*(?:-|–|—|\bto\b|\bthrough\b)\s*", re.IGNORECASE)
EACH = re.compile(r"[,;/&+\n]|\band\b", re.IGNORECASE)


class Days:
    """The days a block can stand on, as (key, name): `usual` ones, and others such as another kind of day's.

    A name is known as it stands, and weekdays and numbered days also as people shorten them.
    """

    def __init__(self, usual: Sequence[tuple[str, str]], others: Sequence[tuple[str, str]] = ()) -> None:
        self.usual = [key for key, _ in usual]
        self.names = dict((*usual, *others))
        self._keys: dict[str, str] = {}
        for key, name in (*usual, *others):
            self._keys.setdefault(folded(name), key)
        for key, name in usual:
            for short in _shortened(folded(name).split()):
                self._keys.setdefault(short, key)

    def one(self, text: str) -> str | None:
        """The key of the day that a text names, alone or with its date: `Mon`, `Monday 9/7`, `2026-09-07`."""
        words = folded(_weekday_of(text) or text).split()
        while words:
            found = self._keys.get(" ".join(words))
            if found is not None or not words[-1].isdigit() or len(words) < 2 or words[0].isdigit():
                return found
            words.pop()
        return None

    def several(self, text: str) -> list[str]:
        """The keys of all the days that a text names, as `Mon`, `Mon-Fri`, `Tue & Thu` or `daily`; perhaps none."""
        alone = self.one(text)
        if alone is not None:
            return [alone]
        if folded(text) in DAILY:
            return list(self.usual)
        ends = [self.one(piece) for piece in RANGE.split(text)]
        if len(ends) == 2 and all(end in self.usual for end in ends):
            first, last = (self.usual.index(end) for end in ends if end)
            return self.usual[first : last + 1]
        found = [self.one(piece) for piece in EACH.split(text) if piece.strip()]
        known = [key for key in found if key]
        return list(dict.fromkeys(known)) if len(known) == len(found) else []

    def said(self, keys: Iterable[str]) -> str:
        """`Monday, Tuesday and Friday`, in the order of the week."""
        names = [name for key, name in self.names.items() if key in set(keys)]
        return " and ".join(filter(None, (", ".join(names[:-1]), *names[-1:])))


def _weekday_of(text: str) -> str:
    """The weekday of a real date, as a workbook's cell shows it where only its weekday is to be seen."""
    try:
        return f"{dt.date.fromisoformat(text.strip()):%A}"
    except ValueError:
        return ""


def _shortened(words: list[str]) -> list[str]:
    """How people shorten `monday`, `day 3` and `monday of week a`, all folded."""
    if len(words) == 2 and words[0] == "day":
        return [f"day{words[1]}", f"d{words[1]}", f"d {words[1]}", words[1]]
    week = words[3] if words[1:3] == ["of", "week"] and len(words) == 4 else ""
    if not words or words[0] not in SHORT or (len(words) > 1 and not week):
        return []
    days = (words[0], *SHORT[words[0]])
    if not week:
        return list(days)
    return [told for day in days for told in _in_week(day, week)]


def _in_week(day: str, week: str) -> tuple[str, ...]:
    return f"{day} {week}", f"{week} {day}", f"week {week} {day}", f"{day} week {week}"
