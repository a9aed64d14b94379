"""A window's figures for a part: what it asks, what the plan gives, and the margin, all exact."""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple, cast

from scheduling.minutes.rules import DAYS_IN_A_WEEK, Cap, Figure, Part, Rule, ShareCap
from scheduling.minutes.tally import Tallies
from scheduling.minutes.year import LikeWindows, Shape


class Figures(NamedTuple):
    """Minutes, except that `required` and `planned` are days for `days_met` and fractions of 1
    for `share`; `margin` is negative where the window falls short, over or below."""

    required: Figure
    planned: Figure
    margin: Figure


class Asked(NamedTuple):
    """Like windows that are checked, with what each of them asks."""

    windows: LikeWindows
    required: Figure


def asked_windows(shape: Shape, rule: Rule, part: Part) -> tuple[Asked, ...]:
    """The part's windows that are checked, in order of their earliest, gathered once for all
    classrooms of a shape.

    Left out are short windows the part skips and windows that begin outside the rule's dates.
    """
    key = (id(part), rule.effective_from, rule.effective_to)
    kept = shape.asked.get(key)
    if kept is None:
        asked = tuple(sorted(_asked(shape, rule, part), key=lambda asked: asked.windows.stretches[0]))
        # The part is kept beside them, so that its id stays its own.
        kept = shape.asked[key] = (part, asked)
    return cast(tuple[Asked, ...], kept[1])


def _asked(shape: Shape, rule: Rule, part: Part) -> Iterator[Asked]:
    for like in shape.like_windows(part):
        if like.short and part.short_policy == "skip":
            continue
        kept = tuple(s for s in like.stretches if rule.in_force(shape.days[s[0]].date))
        if kept:
            yield Asked(replace(like, stretches=kept), required_of(part, like))


def ratio(numerator: int, denominator: int) -> Figure:
    """A quotient, exact: whole where it is whole."""
    whole, rest = divmod(numerator, denominator)
    return Fraction(numerator, denominator) if rest else whole


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
    return ratio(window.counting_days, DAYS_IN_A_WEEK) if part.mean == "week" else 1


def measure(part: Part, window: LikeWindows, required: Figure, tallies: Tallies) -> Figures:
    """The figures of one window, from the tallies of its sorts of day.

    A mean over no day, and a share of nothing, are 0; a share of nothing is met.
    """
    kind = part.test.kind
    planned: Figure
    if kind == "days_met":
        free, enough = tallies.free, part.test.minutes
        planned = sum([n for s, n in window.bag if free[s] >= enough])
    elif kind == "unbroken":
        planned = max([tallies.longest[s] for s, _ in window.bag], default=0)
    else:
        planned = counted_minutes(part, window, tallies)
        if kind == "share":
            return _shared(required, planned, base_minutes(window, tallies))
        if part.mean:
            planned = _mean(part, planned, window.counting_days)
    margin = required - planned if kind == "at_most" else planned - required
    return Figures(required, planned, margin if type(margin) is int else exact(margin))


def _mean(part: Part, total: Figure, days: int) -> Figure:
    if not days:
        return 0
    if part.mean == "week":
        total = total * DAYS_IN_A_WEEK
    return ratio(total, days) if isinstance(total, int) else exact(total / days)


def base_minutes(window: LikeWindows, tallies: Tallies) -> int:
    """The minutes of the pool a share is taken of."""
    return sum([tallies.base[s] * n for s, n in window.bag])


def counted_minutes(part: Part, window: LikeWindows, tallies: Tallies) -> Figure:
    """The window's minutes that count, all caps taken off, before any mean is taken."""
    free, minutes = tallies.free, 0
    for sort, days in window.bag:
        minutes += free[sort] * days
    if not part.window_capped:
        return minutes
    total: Figure = minutes
    for place, activity in enumerate(part.window_capped):
        total += window_cap_steps(part, window, tallies, place=place, activity=activity)[-1].minutes
    return exact(total)


class CapStep(NamedTuple):
    """An activity's minutes in a window after one cap; without a cap, before any."""

    minutes: Figure
    cap: Cap | ShareCap | None = None


def window_cap_steps(part: Part, window: LikeWindows, tallies: Tallies, *, place: int, activity: str) -> list[CapStep]:
    """An activity's minutes before and after each cap that spans days: week, year, share.

    `place` is the activity's place in the part's `window_capped`.
    """
    under = tallies.capped[place]
    weeks = [sum([under[s] * n for s, n in bag]) for bag in window.weeks]
    steps = [CapStep(sum(weeks))]
    if activity in part.week_caps:
        at_most = part.week_caps[activity]
        steps.append(CapStep(sum([min(minutes, at_most) for minutes in weeks]), Cap(activity, at_most, "week")))
    if activity in part.year_caps:
        at_most = part.year_caps[activity]
        steps.append(CapStep(min(steps[-1].minutes, at_most), Cap(activity, at_most, "year")))
    for cap in part.share_caps:
        if cap.activity == activity:
            most = cap.share * required_of(part, window) * divisor_of(part, window)
            steps.append(CapStep(min(steps[-1].minutes, most), cap))
    return steps


def _shared(required: Figure, pool: Figure, base: int) -> Figures:
    if not base:
        return Figures(required, 0, 0)
    return Figures(required, exact(Fraction(pool) / base), exact(pool - required * base))
