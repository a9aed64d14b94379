"""A first week laid out from demands alone, day after day in one order, for a fitting to bring to the minute.

It is a start and no answer: what the rules ask of an activity is shared out evenly over the days, what is too little
for a block a day is given fewer days, and each day is filled from its start, the longest first. That a day's order is
the same all week and the longest come first is common practice, no source.
"""

from collections import deque
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil

from scheduling.refit.problem import GRAIN, SHORTEST, Day, Demand, Item, Need, Wishes

SENSIBLE = 20
"""Minutes of a block that is worth a place in every day; what comes to less a day is given fewer days."""
USUAL = 30
"""Minutes of a block of what is given fewer days."""
AT_LEAST = ("at_least", "recommended")


@dataclass
class Wanted:
    """Minutes wanted by activity and day, before anything is placed."""

    days: Sequence[Day]
    by_day: dict[str, dict[int, int]] = field(default_factory=dict)

    def raise_to(self, activity: str, day: int, minutes: int) -> None:
        held = self.by_day.setdefault(activity, {})
        held[day] = max(held.get(day, 0), minutes)

    def of(self, activity: str, need: Need) -> int:
        """What is wanted of an activity over a window."""
        held = self.by_day.get(activity, {})
        return sum(times * held.get(day, 0) for day, times in need.days.items())

    def load(self, day: int) -> int:
        return sum(held.get(day, 0) for held in self.by_day.values())

    def room(self, day: int) -> int:
        return sum(free.end - free.start for free in self.days[day].free) - self.load(day)


def laid_out(
    days: Sequence[Day], demands: Sequence[Demand], activities: Collection[str], wishes: Wishes
) -> tuple[Item, ...]:
    """Blocks of some activities that come near to what is demanded, in the order of their days."""
    wanted = _wanted(days, demands, activities)
    return tuple(item for number, day in enumerate(days) for item in _filled(number, day, wanted, wishes))


def _wanted(days: Sequence[Day], demands: Sequence[Demand], activities: Collection[str]) -> Wanted:
    wanted = Wanted(days)
    # What only one activity can give comes first, what many can give last.
    for demand in sorted(demands, key=lambda one: (len(one.counts & set(activities)), one.rule, one.part)):
        givers = sorted(demand.counts & set(activities))
        if not givers:
            continue
        for need in demand.needs:
            if demand.test in AT_LEAST:
                _share_out(wanted, givers, need, _asked(need) - need.fixed)
            elif demand.test == "days_met":
                for day in sorted(need.days)[: ceil(need.required)]:
                    _share_out(wanted, givers, Need({day: 1}, demand.minutes), Fraction(demand.minutes))
            elif demand.test == "unbroken":
                day = max(need.days, key=wanted.room)
                wanted.raise_to(givers[0], day, ceil(need.required))
    return wanted


def _asked(need: Need) -> Fraction:
    return Fraction(need.required) * Fraction(need.divisor)


def _share_out(wanted: Wanted, givers: Sequence[str], need: Need, asked: Fraction) -> None:
    """Raise what is wanted of some activities until a window has what is asked of them together."""
    lacking = asked - sum(wanted.of(giver, need) for giver in givers)
    if lacking <= 0:
        return
    for place, giver in enumerate(givers):
        _spread(wanted, giver, need, wanted.of(giver, need) + lacking / len(givers), place)


def _spread(wanted: Wanted, activity: str, need: Need, minutes: Fraction, turn: int) -> None:
    """Give an activity so many minutes in a window, evenly over its days or over a few of them."""
    times = Fraction(sum(need.days.values()))
    a_day = ceil(minutes / times / GRAIN) * GRAIN
    chosen = sorted(need.days)
    if a_day < SENSIBLE and len(chosen) > 1:
        a_week = minutes * len(chosen) / times
        count = min(len(chosen), max(1, round(a_week / USUAL)))
        a_day = max(SHORTEST, ceil(a_week / count / GRAIN) * GRAIN)
        # The emptiest days; where several are as empty, each activity begins with another one.
        chosen = sorted(chosen, key=lambda day: (-wanted.room(day), (day + turn) % len(chosen)))[:count]
    for day in chosen:
        wanted.raise_to(activity, day, a_day)


def _filled(number: int, day: Day, wanted: Wanted, wishes: Wishes) -> Iterator[Item]:
    """A day's blocks from its start on: each activity in its turn, parted where a free stretch ends."""
    total = {activity: sum(held.values()) for activity, held in wanted.by_day.items()}
    names = [activity for activity in wanted.by_day if wanted.by_day[activity].get(number)]
    names.sort(key=lambda one: (one not in wishes.ends_by, -total[one], one))
    queue = deque((name, wanted.by_day[name][number]) for name in names)
    free = deque((stretch.start, stretch.end) for stretch in day.free)
    pieces = 0
    here: dict[str, int] = {}
    while queue and free:
        start, end = free[0]
        at = _next_for(queue, here, end - start, wishes.at_a_stretch)
        if at is None:
            free.popleft()
            here = {}
            continue
        queue.rotate(-at)
        name, minutes = queue.popleft()
        queue.rotate(at)
        most = wishes.at_a_stretch.get(name, minutes) - here.get(name, 0)
        piece = min(minutes, end - start, most)
        yield Item((number, pieces, name), number, start, start + piece, name, min(piece, 15))
        pieces += 1
        here[name] = here.get(name, 0) + piece
        free[0] = (start + piece, end)
        if minutes - piece >= SHORTEST:
            queue.insert(at, (name, minutes - piece))


def _next_for(
    queue: Sequence[tuple[str, int]], here: Mapping[str, int], room: int, most: Mapping[str, int]
) -> int | None:
    """The place in the queue of the first activity that may have a block in what is left of a free stretch."""
    for place, (name, _) in enumerate(queue):
        if min(room, most.get(name, room) - here.get(name, 0)) >= SHORTEST:
            return place
    return None
