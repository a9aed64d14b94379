"""The usual days of one week or of two as strips drawn to scale, one under the other."""

from dataclasses import dataclass

from scheduling.minutes.plan import Bell
from scheduling.selectors.sides import Side
from scheduling.selectors.week_rows import Axis, axis_between
from scheduling.selectors.year_words import capital, day_in_full
from scheduling.week_shape import Stretch
from teamroom.common.clock import said_span
from teamroom.dates.calendar_maths import REGULAR

LOOK_OF_FIXED = "fixed-strip"


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of a strip; times in minutes since midnight."""

    name: str
    look: str
    start: int
    length: int


@dataclass(frozen=True, slots=True)
class Strip:
    """A day of one week; `label` says all of it in words."""

    title: str
    label: str
    opens: int
    closes: int
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class DayDrawn:
    title: str
    strips: tuple[Strip, ...]


@dataclass(frozen=True, slots=True)
class DaysDrawn:
    axis: Axis
    days: tuple[DayDrawn, ...]


def days_drawn(here: Side, there: Side | None = None) -> DaysDrawn:
    """Every day of either week's cycle with a strip of each, on one axis; no query."""
    sides = [here] if there is None else [here, there]
    titles = ["This week"] if there is None else ["First", "Second"]
    bells = [_bell(side, day) for side in sides for day in side.days]
    stretches = [one for side in sides for day in side.days.values() for one in day]
    axis = axis_between(
        [*(bell.start for bell in bells if bell), *(one.start for one in stretches)],
        [*(bell.dismissal for bell in bells if bell), *(one.end for one in stretches)],
    )
    return DaysDrawn(
        axis,
        tuple(
            DayDrawn(
                capital(day_in_full(day)),
                tuple(_strip(title, side, day, axis) for title, side in zip(titles, sides, strict=True)),
            )
            for day in dict.fromkeys(day for side in sides for day in side.days)
        ),
    )


def _bell(side: Side, day: str) -> Bell | None:
    """The bell schedule of a day's kind, or the regular one where that kind has none."""
    return side.plan.bells.get(side.kind_of(day)) or side.plan.bells.get(REGULAR)


def _strip(title: str, side: Side, day: str, axis: Axis) -> Strip:
    held, bell = side.days.get(day, ()), _bell(side, day) if day in side.days else None
    names = {key: activity.name for key, activity in side.words.by_key.items()}
    told = [f"{names[one.activity]} {said_span(one.start, one.end)}." for one in held]
    return Strip(
        title=title,
        label=" ".join(told) or "Nothing is planned.",
        opens=bell.start if bell else axis.first,
        closes=bell.dismissal if bell else axis.last,
        parts=tuple(Part(names[one.activity], _look(side, one), one.start, one.end - one.start) for one in held),
    )


def _look(side: Side, one: Stretch) -> str:
    """As on the week's own sheet: an integrated block has no colour of its own."""
    if one.fixed:
        return LOOK_OF_FIXED
    plain = [credit.activity for credit in one.credits] == [one.activity]
    return side.words.by_key[one.activity].look if plain else "shared"
