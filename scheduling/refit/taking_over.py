"""A source week and a target's days made into a problem: its columns, their free time, and the blocks in them."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from scheduling.minutes.layout import by_place, choose_column, without
from scheduling.minutes.plan import Bell, Block, ClassroomPlan, Column, Version
from scheduling.minutes.rules import Rule
from scheduling.minutes.year import Year
from scheduling.refit.demands import Ground, demands_of
from scheduling.refit.problem import GRAIN, SHORTEST, Day, Free, Item, Problem
from scheduling.refit.problem import Place
from teamroom.dates.calendar_maths import REGULAR

Kinds = Mapping[str, str]
"""The kind of day that each cycle day usually is."""


def taking_over(
    source: Version,
    target: ClassroomPlan,
    year: Year,
    rules: Iterable[Rule],
    *,
    usual: Kinds,
    keep: Collection[str] = (),
) -> Problem:
    """A source week to be fitted to a target's bells and rules; `keep` names the days or activities wanted, or all.

    `target` is the classroom's plan with any week of its own: only its bells, dates and day changes are looked at.
    """
    days = tuple(_days(source, target.bells, usual))
    items = tuple(
        item
        for number, day in enumerate(days)
        for item in _items(source, number, day)
        if not keep or day.day in keep or item.activity in keep
    )
    plan = ClassroomPlan(target.grades, (Version(source.starts, ()),), target.bells, target.changes)
    ground = Ground(year.shape(plan), plan, days)
    activities = {item.activity for item in items} | {credit.activity for item in items for credit in item.credits}
    activities |= {fixed.activity for bell in target.bells.values() for fixed in bell.fixed}
    demands, choices = demands_of(rules, ground, sorted(activities))
    return Problem(days, items, demands, choices)


def _days(source: Version, bells: Mapping[str, Bell], usual: Kinds) -> Iterator[Day]:
    """The target's columns: each usual day as it usually is, then the source's others of kinds that have a bell."""
    seen = set()
    for day, kind in usual.items():
        own = kind if kind in bells else REGULAR
        seen.add((day, own))
        yield Day(day, own, _free(bells.get(own), day))
    for column in source.columns:
        place = (column.day or "", column.kind)
        if place not in seen and column.kind in bells:
            seen.add(place)
            yield Day(*place, _free(bells[column.kind], column.day or ""))


def _free(bell: Bell | None, day: str) -> tuple[Free, ...]:
    """A day's time between its fixed stretches, from the first place on the grid to the last."""
    if bell is None:
        return ()
    fixed = [(one.start, one.end) for one in bell.fixed if one.days is None or not day or day in one.days]
    spans = (
        (-(-start // GRAIN) * GRAIN, end // GRAIN * GRAIN)
        for start, end in without((bell.start, bell.dismissal), sorted(fixed))
    )
    return tuple(Free(start, end) for start, end in spans if end - start >= GRAIN)


def _items(source: Version, number: int, day: Day) -> Iterator[Item]:
    """The source's blocks for a column: of its own place, else of what the source has for such a day."""
    columns = by_place(source.columns)
    place = (day.day or None, day.kind)
    blocks = columns[place] if place in columns else choose_column(columns, day.day, day.kind).blocks
    for block in sorted(blocks, key=lambda one: one.start):
        yield Item(
            key=block.key,
            day=number,
            start=block.start,
            end=block.end,
            activity=block.activity,
            least=_least(block),
            credits=block.credits,
        )


def _least(block: Block) -> int:
    """The shortest a block may become: what it credits if it is integrated, else half of it, ten minutes at least."""
    if block.credits:
        return sum(credit.minutes for credit in block.credits)
    return min(block.length, max(SHORTEST, block.length // 2))


def week_of(problem: Problem, places: Sequence[Place | None]) -> tuple[Column, ...]:
    """The columns that a placed problem makes, their blocks in order of time, each under its source's key."""
    blocks: list[list[Block]] = [[] for _ in problem.days]
    for item, place in zip(problem.items, places, strict=True):
        if place is not None:
            blocks[place.day].append(Block(place.start, place.end, item.activity, item.credits, item.key))
    return tuple(
        Column(day.day or None, day.kind, tuple(sorted(held, key=lambda one: one.start)))
        for day, held in zip(problem.days, blocks, strict=True)
    )
