"""What a placed week lacks of a problem's demands, counted from its blocks alone: the solver is not asked."""

from collections.abc import Iterable, Sequence
from fractions import Fraction

from scheduling.refit.problem import GRAIN, Demand, Item, Need, Place, Problem

Placed = Sequence[tuple[Item, Place]]


def shortfalls(problem: Problem, places: Sequence[Place | None]) -> tuple[Fraction, Fraction]:
    """Minutes short of the rules, and below what is recommended: of each demand its worst window."""
    kept = [(item, place) for item, place in zip(problem.items, places, strict=True) if place is not None]
    short = [worst(demand, kept) for demand in problem.demands]
    loose = {n for choice in problem.choices for some in choice.alternatives for n in some}
    totals = [Fraction(0), Fraction(0)]
    for n, (demand, lacking) in enumerate(zip(problem.demands, short, strict=True)):
        if n not in loose:
            totals[demand.is_advice] += lacking
    for choice in problem.choices:
        advice = problem.demands[choice.alternatives[0][0]].is_advice
        totals[advice] += min(sum((short[n] for n in some), Fraction(0)) for some in choice.alternatives)
    return totals[0], totals[1]


def lacking(problem: Problem, places: Sequence[Place | None]) -> list[Demand]:
    """The demands that a week misses; of alternatives those of the one that lacks least, and none if one is met."""
    kept = [(item, place) for item, place in zip(problem.items, places, strict=True) if place is not None]
    short = [worst(demand, kept) for demand in problem.demands]
    missed = set(range(len(short)))
    for choice in problem.choices:
        best = min(choice.alternatives, key=lambda some: sum((short[n] for n in some), Fraction(0)))
        missed -= {n for some in choice.alternatives if some != best for n in some}
    return [problem.demands[n] for n in sorted(missed) if short[n]]


def against_wishes(problem: Problem, places: Sequence[Place | None]) -> int:
    """Minutes that a week goes against what is wished, on the grid."""
    ends_by, at_a_stretch = problem.wishes.ends_by, problem.wishes.at_a_stretch
    kept = [(item, place) for item, place in zip(problem.items, places, strict=True) if place is not None]
    late = sum(
        max(0, place.end - ends_by[item.activity] // GRAIN * GRAIN) for item, place in kept if item.activity in ends_by
    )
    over = 0
    for activity, most in at_a_stretch.items():
        for number, day in enumerate(problem.days):
            for free in day.free:
                inside = sum(
                    place.end - place.start
                    for item, place in kept
                    if item.activity == activity and place.day == number and free.start <= place.start < free.end
                )
                over += max(0, inside - most // GRAIN * GRAIN)
    return late + over


def worst(demand: Demand, kept: Placed) -> Fraction:
    """Minutes that a demand's worst window lacks; 0 if none lacks any."""
    return max((Fraction(0), *(lacking_in(demand, need, kept) for need in demand.needs)))


def lacking_in(demand: Demand, need: Need, kept: Placed) -> Fraction:
    """Minutes that a window lacks; what it has to spare is below 0."""
    if demand.test == "unbroken":
        longest = [pooled(item, place, demand.counts) for item, place in kept if place.day in need.days]
        return Fraction(need.required) - max([need.fixed, *longest])
    if demand.test == "days_met":
        met = sum(
            times
            for day, times in need.days.items()
            if need.given.get(day, 0) + _day(demand, day, kept) >= demand.minutes
        )
        return (Fraction(need.required) - need.fixed - met) * demand.minutes
    counted = counted_on(demand, need, kept)
    if demand.test == "share":
        base = need.fixed_base + sum(
            need.days.get(place.day, 0) * pooled(item, place, demand.base) for item, place in kept
        )
        return Fraction(need.required) * base - counted
    asked = Fraction(need.required) * Fraction(need.divisor)
    return counted - asked if demand.test == "at_most" else asked - counted


def counted_on(demand: Demand, need: Need, kept: Placed) -> Fraction:
    """A window's minutes that count, caps taken off and what no block gives added."""
    total = Fraction(need.fixed)
    for activity in demand.counts:
        minutes = Fraction(sum(times * _of_day(demand, day, activity, kept) for day, times in need.days.items()))
        if activity in need.caps and demand.test != "at_most":
            minutes = min(minutes, need.caps[activity])
        total += minutes
    return total


def _day(demand: Demand, day: int, kept: Placed) -> int:
    return sum(_of_day(demand, day, activity, kept) for activity in demand.counts)


def _of_day(demand: Demand, day: int, activity: str, kept: Placed) -> int:
    minutes = sum(_of_block(demand, item, place, activity) for item, place in kept if place.day == day)
    if activity in demand.day_caps and demand.test != "at_most":
        return min(minutes, demand.day_caps[activity])
    return minutes


def _of_block(demand: Demand, item: Item, place: Place, activity: str) -> int:
    minutes = pooled(item, place, (activity,))
    if demand.test == "at_most":
        return minutes
    if minutes < demand.sitting:
        return 0
    return min(minutes, demand.sitting_caps.get(activity, minutes))


def pooled(item: Item, place: Place, activities: Iterable[str]) -> int:
    """What a placed block credits to some activities, in minutes."""
    if item.credits:
        return sum(credit.minutes for credit in item.credits if credit.activity in activities)
    return place.end - place.start if item.activity in activities else 0
