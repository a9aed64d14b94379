"""The columns of a target week with their free time, the blocks of a source in them, and a placed week as columns."""

from collections.abc import Collection, Iterator, Mapping, Sequence

from scheduling.minutes.layout import by_place, choose_column, without
from scheduling.minutes.plan import Bell, Block, Column, FixedStretch
from scheduling.refit.problem import GRAIN, SHORTEST, Day, Free, Item, Place, Problem
from teamroom.dates.calendar_maths import REGULAR

Kinds = Mapping[str, str]
"""The kind of day that each cycle day usually is."""


def days_of(
    columns: Sequence[Column], bells: Mapping[str, Bell], usual: Kinds, kinds: Collection[str] = ()
) -> Iterator[Day]:
    """The target's columns: each usual day as it usually is, then a week's others of kinds that have a bell, and one
    of its own for each of some more kinds."""
    seen = set()
    for day, kind in usual.items():
        own = kind if kind in bells else REGULAR
        seen.add((day, own))
        yield Day(day, own, _free(bells.get(own), day))
    others = [(column.day or "", column.kind) for column in columns] + [("", kind) for kind in sorted(kinds)]
    for place in others:
        day, kind = place
        if place not in seen and kind in bells:
            seen.add(place)
            yield Day(day, kind, _free(bells[kind], day))


def fixed_on(bell: Bell | None, day: str) -> list[FixedStretch]:
    """What a school fixes on a day of the cycle; without a day, on any of the kind."""
    stretches = bell.fixed if bell is not None else ()
    return [one for one in stretches if one.days is None or not day or day in one.days]


def _free(bell: Bell | None, day: str) -> tuple[Free, ...]:
    """A day's time between its fixed stretches, from the first place on the grid to the last."""
    if bell is None:
        return ()
    fixed = [(one.start, one.end) for one in fixed_on(bell, day)]
    spans = (
        (-(-start // GRAIN) * GRAIN, end // GRAIN * GRAIN)
        for start, end in without((bell.start, bell.dismissal), sorted(fixed))
    )
    return tuple(Free(start, end) for start, end in spans if end - start >= GRAIN)


def items_of(source: Sequence[Column], number: int, day: Day) -> Iterator[Item]:
    """The source's blocks for a column: of its own place, else of what the source has for such a day."""
    columns = by_place(source)
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
