"""Which columns a week's sheet has, and every column a block can be put in."""

from collections.abc import Collection, Iterator
from typing import NamedTuple

from scheduling.selectors.year_words import YearWords, capital, day_in_full, small

Place = tuple[str, int]
"""A column's cycle day (or none) and day kind."""


class Source(NamedTuple):
    """A column to draw: shown for a cycle day (or none) on days of a kind, out of a column's rows."""

    id: str
    day: str
    kind: int
    from_day: str
    from_kind: int
    plain: bool

    @property
    def place(self) -> str:
        """What an edit writes to, as forms and pages spell it."""
        return f"{self.from_day}:{self.from_kind}"


def main_columns(words: YearWords, present: Collection[Place]) -> list[Source]:
    """The columns of the usual days, each chosen as the counting chooses it."""
    days = list(words.cycle.usual_days)
    days += [day for day in words.cycle.day_names if day not in days and any(place[0] == day for place in present)]
    return [resolved(day, words.usual_kind(day), words.regular, present) for day in days]


def other_columns(words: YearWords, present: Collection[Place], main: list[Source]) -> list[Source]:
    """The columns that no usual day shows: other kinds of day."""
    shown = {(source.from_day, source.from_kind) for source in main}
    order = {day: place for place, day in enumerate(words.cycle.day_names, start=1)}
    return [
        Source(f"{day or 'every'}-{words.kinds[kind][0]}", day, kind, day, kind, plain=False)
        for day, kind in sorted(present, key=lambda place: (place[1], order.get(place[0], 0)))
        if (day, kind) not in shown
    ]


def resolved(day: str, kind: int, regular: int, present: Collection[Place]) -> Source:
    """What is shown for a cycle day of a kind, chosen as the counting chooses it; `regular` is that kind's id."""
    for from_day, from_kind in ((day, kind), ("", kind)):
        if (from_day, from_kind) in present:
            return Source(day, day, kind, from_day, from_kind, plain=False)
    return Source(day, day, kind, day, regular, plain=kind != regular)


def all_places(words: YearWords, main: list[Source]) -> Iterator[tuple[str, str]]:
    """Every column a block can be put in, as (value, label), those of the usual days first."""
    usual = [(source.from_day, source.from_kind) for source in main if source.from_day]
    kinds = sorted(words.kinds, key=lambda kind: kind != words.regular)
    days = ["", *words.cycle.usual_days]
    days += [day for day in words.cycle.day_names if day not in days]
    others = [(day, kind) for kind in kinds for day in days if (day, kind) not in usual]
    for day, kind in usual:
        yield f"{day}:{kind}", capital(day_in_full(day))
    for day, kind in others:
        name = small(words.kinds[kind][1])
        if day:
            yield f"{day}:{kind}", f"{capital(day_in_full(day))}, when it is a {name}"
        elif kind != words.regular:
            yield f":{kind}", f"Every {name}"
