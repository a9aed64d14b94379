"""The shapes of one week or of two in words: where the minutes go, when in the day, longest stretches and changes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from scheduling.minutes.figures import listed, minutes_in_words, minutes_said, number_said, percent_said, size_of
from scheduling.minutes.rules import Figure
from scheduling.selectors.sides import Side
from scheduling.selectors.year_words import ActivityWords, capital, day_in_full
from scheduling.week_shape import Longest, TimeOfDay, out_of_order
from teamroom.common.clock import said_clock, said_span

MOST_NAMED = 4
NOTABLE = Fraction(1, 10)
"""How much more or less of an activity lies before midday for the words to name it (common practice, no source)."""
SAME = "the same"


@dataclass(frozen=True, slots=True)
class Told:
    """A figure of one week, more about it, and the length of its bar in percent; a bar of 0 is none."""

    figure: str = ""
    more: str = ""
    reach: float = 0


@dataclass(frozen=True, slots=True)
class Line:
    """A figure of both weeks, in the colour of its activity where it has one; `change` is the second beside the
    first, empty where there is no second."""

    name: str
    look: str
    here: Told
    there: Told
    change: str


@dataclass(frozen=True, slots=True)
class ShapeTold:
    """`said` and `order_said` tell the difference in a sentence; the orders are names, those that changed
    places marked. Activities stand in the first week's order, those of the second alone after them."""

    two: bool
    said: str
    minutes: tuple[Line, ...]
    order_said: str
    orders: tuple[tuple[tuple[str, bool], ...], ...]
    when: tuple[Line, ...]
    changes: tuple[Line, ...]
    longest: tuple[Line, ...]


def shape_told(here: Side, there: Side | None = None) -> ShapeTold:
    """The figures of a week, beside those of another where there is one; no query."""
    sides = [here] if there is None else [here, there]
    names = {key: activity for side in reversed(sides) for key, activity in side.words.by_key.items()}
    orders = [side.shape.order for side in sides]
    keys = list(dict.fromkeys(key for order in orders for key in order))
    moved = out_of_order(*orders) if there else []
    lines = _Lines(sides, names)
    return ShapeTold(
        two=there is not None,
        said=_minutes_differ(here, there, names) if there else "",
        minutes=tuple(lines.minutes(keys)),
        order_said=_order_differs(moved, names) if there else "",
        orders=tuple(tuple((names[key].name, key in moved) for key in order) for order in orders),
        when=tuple(lines.when(keys, moved)),
        changes=tuple(lines.changes()),
        longest=tuple(lines.longest(keys)),
    )


class _Lines:
    """The lines of every table, each activity once."""

    def __init__(self, sides: Sequence[Side], names: dict[str, ActivityWords]) -> None:
        self.shapes, self.names, self.two = [side.shape for side in sides], names, len(sides) == 2

    def _line(self, key: str, told: list[Told], change: str) -> Line:
        activity = self.names[key]
        return _line(activity.name, told, change if self.two else "", activity.look)

    def minutes(self, keys: Sequence[str]) -> Iterator[Line]:
        most = max((n for shape in self.shapes for n in shape.minutes.values()), default=1)
        for key in keys:
            held = [shape.minutes.get(key, 0) for shape in self.shapes]
            told = [
                Told(minutes_said(n, hours=False), reach=round(float(n / most * 100), 1)) if n else Told() for n in held
            ]
            yield self._line(key, told, _only(held) or more_or_less(held[-1] - held[0]))

    def when(self, keys: Sequence[str], moved: Sequence[str]) -> Iterator[Line]:
        for key in keys:
            held = [shape.when.get(key) for shape in self.shapes]
            told = [Told(said_span(one.first, one.last), _early(one.before_midday)) if one else Told() for one in held]
            first, second = held[0], held[-1]
            change = _only(held)
            if first and second:
                change = _when_differs(first, second, moved=key in moved)
            yield self._line(key, told, change)

    def changes(self) -> Iterator[Line]:
        means = [shape.changes_a_day for shape in self.shapes]
        change = means[-1] - means[0]
        more = f"{number_said(abs(change))} {'more' if change > 0 else 'fewer'}" if change else SAME
        yield _line("A day, on average", [Told(number_said(n)) for n in means], more if self.two else "")
        most = [max(shape.changes.items(), key=lambda day: day[1], default=("", 0)) for shape in self.shapes]
        told = [Told(str(n), capital(day_in_full(day)) if day else "") for day, n in most]
        change = Fraction(most[-1][1] - most[0][1])
        more = f"{abs(change)} {'more' if change > 0 else 'fewer'}" if change else SAME
        yield _line("On the day with the most", told, more if self.two else "")

    def longest(self, keys: Sequence[str]) -> Iterator[Line]:
        if not keys:
            return
        best = [shape.longest_of_all for shape in self.shapes]
        ends = [one and one[1] for one in best]
        told = [_stretch(one[1], f"{self.names[one[0]].name}, ") if one else Told() for one in best]
        yield _line("The longest of all", told, _longer(ends) if self.two else "")
        for key in keys:
            held = [shape.longest.get(key) for shape in self.shapes]
            yield self._line(key, [_stretch(one) if one else Told() for one in held], _longer(held))


def more_or_less(change: Figure, words: tuple[str, str] = ("more", "less")) -> str:
    """`25 minutes more`, or `the same`."""
    return f"{minutes_in_words(change)} {words[change < 0]}" if change else SAME


def _line(name: str, told: list[Told], change: str, look: str = "") -> Line:
    return Line(name, look, told[0], told[-1], change)


def _only(held: Sequence[object]) -> str:
    """Which of two weeks alone has something; empty if both do."""
    if held[0] and held[-1]:
        return ""
    return "only in the first" if held[0] else "only in the second"


def _early(share: Fraction) -> str:
    if share in (0, 1):
        return "all before midday" if share else "all after midday"
    return f"{percent_said(Fraction(round(share * 100), 100))} before midday"


def _stretch(longest: Longest, whose: str = "") -> Told:
    when = f"{whose}{capital(day_in_full(longest.day))}, {said_clock(longest.start)}"
    return Told(minutes_said(longest.minutes, hours=False), when)


def _longer(held: Sequence[Longest | None]) -> str:
    first, second = held[0], held[-1]
    if first and second:
        return more_or_less(second.minutes - first.minutes, ("longer", "shorter"))
    return _only(held)


def _when_differs(here: TimeOfDay, there: TimeOfDay, *, moved: bool) -> str:
    begins, ends = there.first - here.first, there.last - here.last
    if begins == ends != 0:
        told = [_later(begins)]
    else:
        told = [f"{what} {_later(change)}" for what, change in (("begins", begins), ("ends", ends)) if change]
    if abs(there.before_midday - here.before_midday) >= NOTABLE:
        told.append(_early(there.before_midday))
    told += ["in another place in the order"] if moved else []
    return ", ".join(told) or SAME


def _later(change: int) -> str:
    return f"{minutes_in_words(change)} {'later' if change > 0 else 'earlier'}"


def _minutes_differ(here: Side, there: Side, names: dict[str, ActivityWords]) -> str:
    """The greatest differences of an ordinary week in a sentence."""
    first, second = here.shape.minutes, there.shape.minutes
    changes: dict[str, Figure] = {key: second.get(key, 0) - first.get(key, 0) for key in {**first, **second}}
    differing = sorted(
        (key for key in changes if changes[key]), key=lambda key: (-size_of(changes[key]), names[key].name)
    )
    if not differing:
        return "Both give every activity the same minutes."
    told = [f"{names[key].name} {more_or_less(changes[key])}" for key in differing[:MOST_NAMED]]
    left = len(differing) - MOST_NAMED
    told += [f"{left} other{'' if left == 1 else 's'} as the table says"] if left > 0 else []
    return f"The second gives, in an ordinary week, {listed(told)}."


def _order_differs(moved: Sequence[str], names: dict[str, ActivityWords]) -> str:
    if not moved:
        return "What both have comes in the same order."
    told = listed([names[key].name for key in moved])
    return f"{told} {'has' if len(moved) == 1 else 'have'} another place in the order; the rest comes in the same."
