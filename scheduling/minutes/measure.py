"""A window's figures for a part: what it asks, what the plan gives, and the margin, all exact."""

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from scheduling.minutes.rules import DAYS_IN_A_WEEK, Figure, Part
from scheduling.minutes.tally import Tally
from scheduling.minutes.year import LikeWindows


class Figures(NamedTuple):
    """Minutes, except that `required` and `planned` are days for `days_met` and fractions of 1
    for `share`; `margin` is negative where the window falls short, over or below."""

    required: Figure
    planned: Figure
    margin: Figure


def exact(value: Figure) -> Figure:
    """A whole figure as an int, any other as a fraction."""
    return value if isinstance(value, int) or value.denominator != 1 else value.numerator


def required_of(part: Part, window: LikeWindows) -> Figure:
    """What the window asks: the part's figure, or its due share where a short one is prorated."""
    figure = part.test.figure
    if not window.short or part.short_policy != "prorate" or part.mean or part.test.kind in ("share", "unbroken"):
        return figure
    full = DAYS_IN_A_WEEK if part.window.kind == "week" else part.window.run_days
    return exact(Fraction(figure) * window.school_days / full)


def divisor_of(part: Part, window: LikeWindows) -> Figure:
    """What a mean divides by: the window's days, or its weeks of five days; else 1."""
    if part.mean == "day":
        return window.counting_days
    return Fraction(window.counting_days, DAYS_IN_A_WEEK) if part.mean == "week" else 1


def measure(part: Part, window: LikeWindows, tallies: Sequence[Tally]) -> Figures:
    """The figures of one window, from the tally of each sort of day.

    A mean over no day, and a share of nothing, are 0; a share of nothing is met.
    """
    required = required_of(part, window)
    kind = part.test.kind
    planned: Figure
    if kind == "days_met":
        enough = part.test.minutes
        planned = sum(n for bag in window.weeks for s, n in bag if tallies[s].free >= enough)
    elif kind == "unbroken":
        planned = max((tallies[s].longest for bag in window.weeks for s, _ in bag), default=0)
    else:
        planned = counted_minutes(part, window, tallies)
        if kind == "share":
            return _shared(required, planned, base_minutes(window, tallies))
        if part.mean:
            days = window.counting_days
            planned = exact(Fraction(planned) / divisor_of(part, window)) if days else 0
    margin = required - planned if kind == "at_most" else planned - required
    return Figures(required, planned, exact(margin))


def base_minutes(window: LikeWindows, tallies: Sequence[Tally]) -> int:
    """The minutes of the pool a share is taken of."""
    return sum(tallies[s].base * n for bag in window.weeks for s, n in bag)


def counted_minutes(part: Part, window: LikeWindows, tallies: Sequence[Tally]) -> Figure:
    """The window's minutes that count, all caps taken off, before any mean is taken."""
    free = sum([tallies[s].free * n for bag in window.weeks for s, n in bag])
    names = part.window_capped if part.caps or part.share_caps else ()
    if not names:
        return free
    capped = (
        window_cap_steps(part, window, tallies, place=place, activity=activity)[-1].minutes
        for place, activity in enumerate(names)
    )
    return exact(free + sum(capped))


class CapStep(NamedTuple):
    """An activity's minutes in a window after one cap, and what the cap says."""

    minutes: Figure
    why: str


def window_cap_steps(
    part: Part, window: LikeWindows, tallies: Sequence[Tally], *, place: int, activity: str
) -> list[CapStep]:
    """An activity's minutes before and after each cap that spans days: week, year, share.

    `place` is the activity's place in the part's `window_capped`.
    """
    weeks = [sum(tallies[s].capped[place] * n for s, n in bag) for bag in window.weeks]
    steps = [CapStep(sum(weeks), "")]
    per_week = part.caps_per("week").get(activity)
    if per_week is not None:
        weeks = [min(minutes, per_week) for minutes in weeks]
        steps.append(CapStep(sum(weeks), f"only {per_week} minutes count a week"))
    per_year = part.caps_per("year").get(activity)
    if per_year is not None:
        minutes = min(steps[-1].minutes, per_year)
        steps.append(CapStep(minutes, f"only {per_year} minutes count a year"))
    for cap in part.share_caps:
        if cap.activity == activity:
            most = cap.share * required_of(part, window) * divisor_of(part, window)
            minutes = min(steps[-1].minutes, most)
            steps.append(CapStep(minutes, f"only {cap.share} of the requirement may count"))
    return steps


def _shared(required: Figure, pool: Figure, base: int) -> Figures:
    if not base:
        return Figures(required, 0, 0)
    return Figures(required, exact(Fraction(pool) / base), exact(pool - required * base))
