"""The fitting as a constraint model: the source's order within a day is kept, and every block lies in one free stretch.

Order makes a day a chain instead of a packing, which is what lets the solver prove its answers; the
redundant cap on a stretch's lengths gives it the bound. A block that is left out has no length and
stands where its neighbours let it, so that the chain needs no exceptions.
"""

import itertools
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from math import lcm
from typing import Any

from ortools.sat.python import cp_model

from scheduling.refit.problem import GRAIN, Demand, Item, Need, Place, Problem, Shared

SEED = 1
Var = cp_model.IntVar
Sum = cp_model.LinearExpr | int


def solver_for(seconds: float) -> cp_model.CpSolver:
    """A solver that takes so long at most. One worker finds the same week each time, and with the full
    relaxation it is not slower than several."""
    solver = cp_model.CpSolver()
    parameters: Any = solver.parameters
    parameters.max_time_in_seconds = seconds
    parameters.num_workers = 1
    parameters.linearization_level = 2
    parameters.random_seed = SEED
    return solver


@dataclass
class Placed:
    """An item's variables, in grains: where it starts, how long it is, and whether it is there.

    `minutes` is what it credits to the activities it credits, in minutes.
    """

    number: int
    item: Item
    day: int
    start: Var
    length: Var
    present: Var
    last: int
    inside: dict[int, tuple[Var, Var]] = field(default_factory=dict)
    """By free stretch whether the block lies in it, and how long there."""

    def minutes(self, activity: str) -> Sum:
        """Minutes credited to an activity: of an integrated block its credits, whole or not at all."""
        if self.item.credits:
            return sum(credit.minutes for credit in self.item.credits if credit.activity == activity) * self.present
        return GRAIN * self.length if self.item.activity == activity else 0

    def credits(self, activity: str) -> bool:
        if self.item.credits:
            return any(credit.activity == activity for credit in self.item.credits)
        return self.item.activity == activity


class Model:
    """The variables and constraints of a problem. Costs are added to it pass by pass.

    What a cap or a sitting leaves of an activity is a variable at or below it, which the least shortfall
    raises; where at most is asked nothing is taken off, which never makes a week look better than it is.
    """

    def __init__(self, problem: Problem, movable: Iterable[int] = (), *, any_order: bool = False) -> None:
        """`movable` are the items, by their place in the problem, that may stand on another day of their
        kind, at any time of it; with `any_order` of their own too. Added ones may in any case."""
        self.problem = problem
        self.any_order = any_order
        added = [number for number, item in enumerate(problem.items) if item.added]
        self.cp = cp_model.CpModel()
        self.placed = [self._place(number, item, item.day) for number, item in enumerate(problem.items)]
        self.guests = [
            self._place(number, problem.items[number], day, guest=True)
            for number in sorted({*movable, *problem.held, *added})
            for day in range(len(problem.days))
            if self._may_visit(number, day)
        ]
        self._once()
        self._chains()
        self._guests_in_between()
        self._shared()
        self.short: list[tuple[Demand, Var, int]] = []
        """Each demand's shortfall and what one unit of it is a part of: minutes times that."""
        for number, demand in enumerate(problem.demands):
            self.short.append((demand, *self._shortfall(number, demand)))

    # What stands where

    def _may_visit(self, number: int, day: int) -> bool:
        item = self.problem.items[number]
        if number in self.problem.held:
            place = self.problem.held[number]
            return place is not None and place.day == day and (item.added or day != item.day)
        if item.added:
            return day == item.day
        own, other = self.problem.days[item.day], self.problem.days[day]
        if day == item.day:
            return self.any_order
        return own.room == other.room and bool(own.day) and bool(other.day)

    def _place(self, number: int, item: Item, on: int, *, guest: bool = False) -> Placed:
        """An item on a day: its own in its order, or as a guest another, or at any time of its own."""
        cp, day = self.cp, self.problem.days[on]
        first = min((free.start for free in day.free), default=item.start) // GRAIN
        last = max((free.end for free in day.free), default=item.start) // GRAIN
        longest = max((free.end - free.start for free in day.free), default=0) // GRAIN
        start = cp.new_int_var(first, max(first, last), f"start{number}")
        length = cp.new_int_var(0, longest, f"length{number}")
        present = cp.new_bool_var(f"present{number}")
        placed = Placed(number, item, on, start, length, present, last)
        least = -(-item.least // GRAIN)
        cp.add(length >= least * present)
        cp.add(length <= longest * present)
        begins: Sum = 0
        ends: Sum = last * (1 - present)
        for place, free in enumerate(day.free):
            first_grain, last_grain = free.start // GRAIN, free.end // GRAIN
            if last_grain - first_grain < least:
                continue
            inside = cp.new_bool_var(f"inside{number}x{place}")
            within = cp.new_int_var(0, last_grain - first_grain, f"within{number}x{place}")
            cp.add(within <= (last_grain - first_grain) * inside)
            cp.add(within >= least * inside)
            begins += first_grain * inside
            ends += last_grain * inside
            placed.inside[place] = (inside, within)
        # As sums over the stretches rather than one by one: so the relaxation sees them too.
        cp.add(start >= begins)
        cp.add(start + length <= ends)
        cp.add(sum(inside for inside, _ in placed.inside.values()) == present)
        cp.add(sum(within for _, within in placed.inside.values()) == length)
        if number in self.problem.held:
            self._hold(placed, self.problem.held[number], guest=guest)
        return placed

    def _hold(self, placed: Placed, place: Place | None, *, guest: bool) -> None:
        visits = place is not None and (placed.item.added or place.day != placed.item.day)
        if place is None or place.day != placed.day or visits is not guest:
            self.cp.add(placed.present == 0)
            return
        self.cp.add(placed.present == 1)
        self.cp.add(placed.start == place.start // GRAIN)
        self.cp.add(placed.length == (place.end - place.start) // GRAIN)

    def _once(self) -> None:
        """No block stands in two places, and an added one never in the order of its day."""
        for placed in self.placed:
            if placed.item.added:
                self.cp.add(placed.present == 0)
        for number in {guest.number for guest in self.guests}:
            guests = [guest.present for guest in self.guests if guest.number == number]
            self.cp.add_at_most_one([self.placed[number].present, *guests])

    def _guests_in_between(self) -> None:
        """On a day that has guests nothing overlaps; its own blocks keep their order all the same."""
        for day in {guest.day for guest in self.guests}:
            there = [placed for placed in (*self.placed, *self.guests) if placed.day == day]
            spans = []
            for placed in there:
                end = self.cp.new_int_var(0, 24 * 60 // GRAIN, "")
                span = self.cp.new_optional_interval_var(placed.start, placed.length, end, placed.present, "")
                spans.append(span)
            self.cp.add_no_overlap(spans)

    def _chains(self) -> None:
        for day, target in enumerate(self.problem.days):
            chain = [placed for placed in self.placed if placed.day == day]
            for before, after in zip(chain, chain[1:], strict=False):
                self.cp.add(before.start + before.length <= after.start)
            for place, free in enumerate(target.free):
                there = [placed for placed in (*chain, *self.guests) if placed.day == day]
                held = [placed.inside[place] for placed in there if place in placed.inside]
                # Redundant, and what the bound comes from: a stretch holds no more than it has.
                self.cp.add(sum(within for _, within in held) <= free.end // GRAIN - free.start // GRAIN)

    def _shared(self) -> None:
        for shared in self.problem.shared:
            for together in self._at_one_time():
                spans, amounts = [], []
                for placed in (placed for day in together for placed in self.on(day)):
                    amount = shared.needed.get(placed.number, 0)
                    if amount:
                        end = self.cp.new_int_var(0, 24 * 60 // GRAIN, "")
                        spans.append(
                            self.cp.new_optional_interval_var(placed.start, placed.length, end, placed.present, "")
                        )
                        amounts.append(amount)
                for first, last, amount in _taken_up(shared, together) if spans else ():
                    spans.append(self.cp.new_fixed_size_interval_var(first, last - first, ""))
                    amounts.append(amount)
                if spans:
                    self.cp.add_cumulative(spans, amounts, shared.capacity)

    def _at_one_time(self) -> list[list[int]]:
        """The days by their place in the week, so that those of several classrooms stand together."""
        places: dict[tuple[str, str], list[int]] = {}
        for number, day in enumerate(self.problem.days):
            places.setdefault((day.day, day.kind), []).append(number)
        return list(places.values())

    # What the rules lack

    def _shortfall(self, number: int, demand: Demand) -> tuple[Var, int]:
        """A variable no less than what the worst window lacks, and the parts of a minute it counts in."""
        scale = lcm(*(self._parts(need) for need in demand.needs), 1)
        most = int(max((Fraction(need.required) * Fraction(need.divisor) for need in demand.needs), default=0))
        most = (most + 24 * 60 * max((sum(need.days.values()) for need in demand.needs), default=0)) * scale
        short = self.cp.new_int_var(0, max(most, 1), f"short{number}")
        for need in demand.needs:
            lacking = self._lacking(demand, need, scale)
            if lacking is not None:
                self.cp.add(short >= lacking)
        return short, scale

    @staticmethod
    def _parts(need: Need) -> int:
        asked = Fraction(need.required) * Fraction(need.divisor)
        caps = [cap.denominator for cap in need.caps.values()]
        return lcm(asked.denominator, Fraction(need.required).denominator, *caps)

    def _lacking(self, demand: Demand, need: Need, scale: int) -> Sum | None:
        """How much a window lacks, in parts of a minute; a day not met lacks the minutes it is met from."""
        if demand.test == "unbroken":
            return scale * (int(need.required) - self._longest(demand, need))
        if demand.test == "days_met":
            met = sum(times * self._met(demand, need, day) for day, times in need.days.items())
            return int((Fraction(need.required) - need.fixed) * scale) * demand.minutes - met * demand.minutes * scale
        counted = self._counted(demand, need, scale)
        if demand.test == "share":
            base = need.fixed_base + sum(
                times * placed.minutes(activity)
                for day, times in need.days.items()
                for placed in self.on(day)
                for activity in demand.base
                if placed.credits(activity)
            )
            return int(Fraction(need.required) * scale) * base - counted
        asked = int(Fraction(need.required) * Fraction(need.divisor) * scale)
        return counted - asked if demand.test == "at_most" else asked - counted

    def _counted(self, demand: Demand, need: Need, scale: int) -> Sum:
        """A window's minutes that count, times `scale`."""
        total: Sum = need.fixed * scale
        for activity in sorted(demand.counts):
            by_day = [(times, self._of_day(demand, day, activity)) for day, times in need.days.items()]
            minutes = sum(times * found for times, found in by_day if found is not None)
            if activity in need.caps and demand.test != "at_most" and not isinstance(minutes, int):
                most = int(need.caps[activity] * scale)
                capped = self.cp.new_int_var(0, most, "")
                self.cp.add(capped <= scale * minutes)
                total += capped
            else:
                total += scale * minutes
        return total

    def _of_day(self, demand: Demand, day: int, activity: str) -> Sum | None:
        """What an activity gives on a day, caps per sitting and day taken off."""
        found = [self._of_block(demand, placed, activity) for placed in self.on(day) if placed.credits(activity)]
        if not found:
            return None
        if activity in demand.day_caps and demand.test != "at_most":
            capped = self.cp.new_int_var(0, demand.day_caps[activity], "")
            self.cp.add(capped <= sum(found))
            return capped
        return sum(found)

    def _of_block(self, demand: Demand, placed: Placed, activity: str) -> Sum:
        """What one block gives an activity. A variable lies at or below it: whoever wants more of it raises it."""
        minutes = placed.minutes(activity)
        cap = demand.sitting_caps.get(activity)
        if demand.test == "at_most" or (cap is None and not demand.sitting):
            return minutes
        most = placed.item.length * 4 + 24 * 60
        counted = self.cp.new_int_var(0, cap if cap is not None else 24 * 60, "")
        self.cp.add(counted <= minutes)
        if demand.sitting:
            long = self.cp.new_bool_var("")
            self.cp.add(minutes >= demand.sitting).only_enforce_if(long)
            self.cp.add(counted <= most * long)
        return counted

    def _met(self, demand: Demand, need: Need, day: int) -> Var:
        met = self.cp.new_bool_var("")
        found = [self._of_day(demand, day, activity) for activity in sorted(demand.counts)]
        there = sum(one for one in found if one is not None) + need.given.get(day, 0)
        self.cp.add(there >= demand.minutes).only_enforce_if(met)
        return met

    def _longest(self, demand: Demand, need: Need) -> Sum:
        """A variable no longer than the window's longest block of the pool; neighbours are not joined."""
        longest = self.cp.new_int_var(0, 24 * 60, "")
        chosen = []
        for day in need.days:
            for placed in self.on(day):
                parts = [placed.minutes(activity) for activity in demand.counts if placed.credits(activity)]
                if parts:
                    this = self.cp.new_bool_var("")
                    self.cp.add(longest <= sum(parts)).only_enforce_if(this)
                    chosen.append(this)
        none = self.cp.new_bool_var("")
        self.cp.add(longest <= need.fixed).only_enforce_if(none)
        self.cp.add_exactly_one([*chosen, none])
        return longest

    def on(self, day: int) -> Iterable[Placed]:
        """What may stand on a day: its own blocks and its guests."""
        return (placed for placed in (*self.placed, *self.guests) if placed.day == day)

    # What is paid for

    def shortfall(self, *, advice: bool) -> tuple[Sum, int]:
        """All demands' shortfall (of advice, or of the rules), and the parts of a minute it counts in."""
        chosen = [
            (n, short, scale) for n, (demand, short, scale) in enumerate(self.short) if demand.is_advice is advice
        ]
        scale = lcm(*(one for _, _, one in chosen), 1)
        loose = {n for choice in self.problem.choices for some in choice.alternatives for n in some}
        total: Sum = sum(short * (scale // own) for n, short, own in chosen if n not in loose)
        for choice in self.problem.choices:
            # A rule of alternatives is advice if its first part is.
            if self.problem.demands[choice.alternatives[0][0]].is_advice is advice:
                total += self.least_of(choice.alternatives, scale)
        return total, scale

    def least_of(self, alternatives: Sequence[Sequence[int]], scale: int = 0) -> Var:
        """A variable no less than one of several shortfalls, which the solver chooses, in parts of a minute."""
        scale = scale or lcm(*(self.short[n][2] for some in alternatives for n in some))
        least = self.cp.new_int_var(0, 10**9, "")
        taken = [self.cp.new_bool_var("") for _ in alternatives]
        for this, some in zip(taken, alternatives, strict=True):
            whole = sum(self.short[n][1] * (scale // self.short[n][2]) for n in some)
            self.cp.add(least >= whole).only_enforce_if(this)
        self.cp.add_exactly_one(taken)
        return least

    def dropped(self) -> Sum:
        there = [placed.present for placed in (*self.placed, *self.guests) if not placed.item.added]
        return sum(not item.added for item in self.problem.items) - sum(there)

    def moved_days(self) -> Sum:
        return sum(guest.present for guest in self.guests if guest.day != guest.item.day)

    def touched_count(self) -> Sum:
        return sum(self.touched.values())

    @cached_property
    def touched(self) -> dict[int, Var]:
        """Of each item whether it stands otherwise than in the source: a variable that is 1 if it does."""
        found = {}
        for placed in self.placed:
            item = placed.item
            touched = found[placed.number] = self.cp.new_bool_var("")
            if item.added:
                here = [guest.present for guest in self.guests if guest.number == placed.number]
                self.cp.add(touched >= sum(here))
                continue
            far = 24 * 60 // GRAIN
            start, length = item.start // GRAIN, item.length // GRAIN
            self.cp.add(1 - placed.present <= touched)
            for value, usual in ((placed.start, start), (placed.length, length)):
                self.cp.add(value - usual <= far * touched)
                self.cp.add(usual - value <= far * touched)
            if item.start % GRAIN or item.length % GRAIN:
                self.cp.add(touched == 1)
        return found


def _taken_up(shared: Shared, days: Collection[int]) -> Iterator[tuple[int, int, int]]:
    """How much of something others have, from grain to grain; where they clash already, no more than there is."""
    spans = [(one.start // GRAIN, -(-one.end // GRAIN), one.amount) for one in shared.taken if one.day in days]
    edges = sorted({edge for start, end, _ in spans for edge in (start, end)})
    for first, last in itertools.pairwise(edges):
        amount = sum(amount for start, end, amount in spans if start <= first and last <= end)
        if amount:
            yield first, last, min(amount, shared.capacity)
