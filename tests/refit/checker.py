"""Whether a proposal is what it says: an inspector that shares no code with the solver or its reckoning.

It looks minute by minute, as slowly as it likes.
"""

from collections import Counter
from fractions import Fraction

from scheduling.refit.problem import Demand, Item, Need, Problem
from scheduling.refit.proposal import Proposal

Minutes = dict[tuple[int, int], int]
"""By day and minute which item stands there."""


def faults(proposal: Proposal) -> list[str]:
    """Everything about a proposal that does not hold, in words."""
    problem, found = proposal.problem, []
    taken: Minutes = {}
    for number, place in enumerate(proposal.places):
        if place is None:
            continue
        item, day = problem.items[number], problem.days[place.day]
        if place.start % 5 or place.end % 5:
            found.append(f"{item.key} is off the grid of five minutes")
        if place.end - place.start < item.least:
            found.append(f"{item.key} lasts {place.end - place.start} minutes, less than its {item.least}")
        if not any(free.start <= place.start and place.end <= free.end for free in day.free):
            found.append(f"{item.key} does not lie in one free stretch of {day.day}")
        for minute in range(place.start, place.end):
            other = taken.setdefault((place.day, minute), number)
            if other != number:
                found.append(f"{item.key} overlaps {problem.items[other].key}")
                break
        if day.room != problem.days[item.day].room:
            found.append(f"{item.key} went to another classroom")
    for number, place in problem.held.items():
        if proposal.places[number] != place:
            found.append(f"{problem.items[number].key} was held and stands elsewhere")
    found += _resources(proposal)
    found += _claims(proposal, taken)
    return found


def _resources(proposal: Proposal) -> list[str]:
    found = []
    for shared in proposal.problem.shared:
        wanted: Counter[tuple[str, str, int]] = Counter()
        for one in shared.taken:
            for minute in range(one.start, one.end):
                wanted[_moment(proposal.problem, one.day, minute)] += one.amount
        for number, amount in shared.needed.items():
            place = proposal.places[number]
            if place is not None:
                for minute in range(place.start, place.end):
                    wanted[_moment(proposal.problem, place.day, minute)] += amount
        if any(much > shared.capacity for much in wanted.values()):
            found.append(f"more of {shared.key} is wanted than there is")
    return found


def _moment(problem: Problem, day: int, minute: int) -> tuple[str, str, int]:
    """A minute of the week, the same for all classrooms."""
    return problem.days[day].day, problem.days[day].kind, minute


def _claims(proposal: Proposal, taken: Minutes) -> list[str]:
    problem, cost = proposal.problem, proposal.cost
    standing = [(item, place) for item, place in zip(problem.items, proposal.places, strict=True) if place]
    shift = sum(abs(place.start - item.start) for item, place in standing if not item.added)
    change = sum(abs((place.end - place.start) - (item.end - item.start)) for item, place in standing)
    told = {
        "dropped": (
            cost.dropped,
            sum(not item.added and not place for item, place in zip(problem.items, proposal.places, strict=True)),
        ),
        "moved days": (cost.moved_days, sum(place.day != item.day for item, place in standing)),
        "shift": (cost.shift_minutes, shift),
        "change of length": (cost.length_change_minutes, change),
        "shortfall": (cost.shortfall, _shortfall(problem, taken, advice=False)),
        "advice": (cost.advice, _shortfall(problem, taken, advice=True)),
    }
    return [f"{name} is told as {said}, but it is {true}" for name, (said, true) in told.items() if said != true]


def _shortfall(problem: Problem, taken: Minutes, *, advice: bool) -> Fraction:
    lacking = [
        max([Fraction(0), *(_lacks(problem, demand, need, taken) for need in demand.needs)])
        for demand in problem.demands
    ]
    in_choices = {n for choice in problem.choices for some in choice.alternatives for n in some}
    total = Fraction(0)
    for n, demand in enumerate(problem.demands):
        if n not in in_choices and (demand.test == "recommended") is advice:
            total += lacking[n]
    for choice in problem.choices:
        if (problem.demands[choice.alternatives[0][0]].test == "recommended") is advice:
            total += min(sum((lacking[n] for n in some), Fraction(0)) for some in choice.alternatives)
    return total


def _lacks(problem: Problem, demand: Demand, need: Need, taken: Minutes) -> Fraction:
    by_item = Counter((day, number) for (day, _), number in taken.items())
    required = Fraction(need.required)
    if demand.test == "unbroken":
        longest = [
            _credited(problem.items[number], length, demand.counts)
            for (day, number), length in by_item.items()
            if day in need.days
        ]
        return required - max([need.fixed, *longest])
    day_minutes: dict[int, dict[str, int]] = {day: {} for day in need.days}
    for (day, number), length in by_item.items():
        if day not in need.days:
            continue
        for activity in demand.counts:
            minutes = _credited(problem.items[number], length, frozenset({activity}))
            if demand.test != "at_most":
                if minutes < demand.sitting:
                    minutes = 0
                minutes = min(minutes, demand.sitting_caps.get(activity, minutes))
            day_minutes[day][activity] = day_minutes[day].get(activity, 0) + minutes
    if demand.test != "at_most":
        for per_day in day_minutes.values():
            for activity, cap in demand.day_caps.items():
                if activity in per_day:
                    per_day[activity] = min(per_day[activity], cap)
    if demand.test == "days_met":
        met = sum(
            times
            for day, times in need.days.items()
            if need.given.get(day, 0) + sum(day_minutes[day].values()) >= demand.minutes
        )
        return (required - need.fixed - met) * demand.minutes
    counted = Fraction(need.fixed)
    for activity in demand.counts:
        of_it = Fraction(sum(times * day_minutes[day].get(activity, 0) for day, times in need.days.items()))
        capped = demand.test != "at_most" and activity in need.caps
        counted += min(of_it, need.caps[activity]) if capped else of_it
    if demand.test == "share":
        base = need.fixed_base + sum(
            need.days.get(day, 0) * _credited(problem.items[number], length, demand.base)
            for (day, number), length in by_item.items()
        )
        return required * base - counted
    asked = required * Fraction(need.divisor)
    return counted - asked if demand.test == "at_most" else asked - counted


def _credited(item: Item, length: int, activities: frozenset[str]) -> int:
    if item.credits:
        return sum(minutes for activity, minutes in item.credits if activity in activities)
    return length if item.activity in activities else 0
