"""What a proposal changes, in plain sentences with the reason where the target's day gives one."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from scheduling.minutes.plan import Bell
from scheduling.refit.columns import fixed_on
from scheduling.refit.problem import Day, Item, Place, Problem
from scheduling.refit.proposal import Proposal
from teamroom.common.clock import said_clock, said_span

Name = Callable[[str], str]


@dataclass(frozen=True, slots=True)
class Change:
    """One block that does not stand as in the source: `to` is None if it is left out. `number` is its place
    in the problem."""

    number: int
    item: Item
    to: Place | None
    said: str


def changes_of(proposal: Proposal, *, bells: Mapping[str, Bell], name: Name, day_name: Name) -> tuple[Change, ...]:
    """Every change of a proposal, in the order of the week; `name` and `day_name` spell activities and days."""
    return tuple(_changes(proposal, bells, name, day_name))


def _changes(proposal: Proposal, bells: Mapping[str, Bell], name: Name, day_name: Name) -> Iterator[Change]:
    problem = proposal.problem
    for number, (item, place) in enumerate(zip(problem.items, proposal.places, strict=True)):
        if place == (None if item.added else item.place):
            continue
        day = problem.days[item.day]
        if item.added and place is not None:
            span = said_span(place.start, place.end)
            yield Change(number, item, place, f"{name(item.activity)} on {_day(day, day_name)} {span} is added.")
            continue
        told = f"{name(item.activity)} on {_day(day, day_name)}"
        why = _why(item, day, bells.get(day.kind), name)
        yield Change(number, item, place, f"{told} {_done(item, place, problem, day_name)}{f': {why}' if why else ''}.")


def _done(item: Item, place: Place | None, problem: Problem, day_name: Name) -> str:
    if place is None:
        return f"{said_span(item.start, item.end)} is left out"
    done = []
    if place.day != item.day:
        done.append(f"moved to {_day(problem.days[place.day], day_name)} {said_clock(place.start)}")
    elif place.start != item.start:
        apart = place.start - item.start
        done.append(f"moved {abs(apart)} minutes {'later' if apart > 0 else 'earlier'}, to {said_clock(place.start)}")
    longer = place.end - place.start - item.length
    if longer:
        done.append(
            f"{'lengthened' if longer > 0 else 'shortened'} by {abs(longer)} to {place.end - place.start} minutes"
        )
    return " and ".join(done)


def _day(day: Day, day_name: Name) -> str:
    return day_name(day.day) if day.day else f"{day.kind} days"


def _why(item: Item, day: Day, bell: Bell | None, name: Name) -> str:
    """What of the target's day stands where the block stood; nothing if it only makes room for others."""
    if bell is None:
        return ""
    for fixed in fixed_on(bell, day.day):
        if fixed.start < item.end and item.start < fixed.end:
            return f"{name(fixed.activity).lower()} is fixed at {said_clock(fixed.start)}"
    if item.end > bell.dismissal:
        return f"the day ends at {said_clock(bell.dismissal)}"
    if item.start < bell.start:
        return f"the day begins at {said_clock(bell.start)}"
    return ""
