"""Two weeks side by side in words: their blocks day by day, the rules of each, and their shapes."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from scheduling.models import Block, BlockUse
from scheduling.selectors.block_words import needs_named
from scheduling.selectors.compare_rules import RuleTold, rules_told
from scheduling.selectors.days_drawn import DaysDrawn, days_drawn
from scheduling.selectors.shape_words import ShapeTold, shape_told
from scheduling.selectors.sides import Side, room_said
from scheduling.selectors.year_words import day_in_full
from scheduling.week_difference import Pair, Placed, pairs_of
from teamroom.common.clock import said_clock
from teamroom.common.wording import counted
from teamroom.dates.calendar_maths import REGULAR
from teamroom.dates.grades import said_grades


@dataclass(frozen=True, slots=True)
class BlockTold:
    """A block in words, empty where there is none; `more` is what it needs and its reason, where they differ."""

    said: str = ""
    more: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PairTold:
    """A block of each week; `mark` is a shape beside `how`."""

    here: BlockTold
    there: BlockTold
    mark: str
    how: str


@dataclass(frozen=True, slots=True)
class DayTold:
    title: str
    pairs: tuple[PairTold, ...]
    said: str


@dataclass(frozen=True)
class Comparison:
    """`rules` hold each week by its own grades' rules, `by_first` both by those of the first week's `grades`: empty
    where these are the same, or with `no_common` where the years have no days in common."""

    here: str
    there: str
    said: str
    rules: tuple[RuleTold, ...]
    grades: str
    by_first: tuple[RuleTold, ...]
    no_common: bool
    shape: ShapeTold
    drawn: DaysDrawn
    days: tuple[DayTold, ...]


@dataclass(frozen=True)
class Names:
    """What the things of both weeks are called, by their keys: as in the first's year if it has them."""

    activities: Mapping[str, str]
    resources: Mapping[str, str]
    kinds: Mapping[str, str]
    days: Sequence[str]


def comparison_of(here: Side, there: Side, moved: Side | None) -> Comparison:
    """Two weeks, each by its own rules; `moved` is the second by the first's, None where those are the same or it
    could not be worked out. Two queries."""
    pairs, names = pairs_of(*_placed(here, there)), _names(here, there)
    titles = [_title(side, other) for side, other in ((here, there), (there, here))]
    return Comparison(
        here=titles[0],
        there=titles[1],
        said=_differ(pairs, f" of {len(pairs)}") or "Every block is the same.",
        rules=tuple(rules_told(here, there)),
        grades=said_grades(here.plan.grades),
        by_first=tuple(rules_told(here, moved)) if moved else (),
        no_common=moved is None and not here.same_rules_as(there),
        shape=shape_told(here, there),
        drawn=days_drawn(here, there),
        days=tuple(_days(pairs, names)),
    )


def _title(side: Side, other: Side) -> str:
    """The week, with its classroom, grades and year where the other has another."""
    room, beside = side.week.classroom, other.week.classroom
    told = [room_said(room)] if room.pk != beside.pk else []
    told += [room.year.name] if room.year_id != beside.year_id else []
    return ", ".join([*told, side.said])


def _names(here: Side, there: Side) -> Names:
    words = [there.words, here.words]
    days = [day for one in reversed(words) for day in one.cycle.day_names]
    return Names(
        activities={key: activity.name for one in words for key, activity in one.by_key.items()},
        resources={resource.key: resource.name for one in words for resource in one.resources.values()},
        kinds={key: name for one in words for key, name in one.kinds.values()},
        days=list(dict.fromkeys(days)),
    )


def _placed(*sides: Side) -> list[list[Placed]]:
    weeks = [side.week.pk for side in sides]
    blocks = Block.objects.filter(column__week__in=weeks).exclude(why="")
    why: dict[object, str] = dict(blocks.values_list("pk", "why"))
    needs: dict[object, list[tuple[str, int]]] = defaultdict(list)
    uses = BlockUse.objects.filter(block__column__week__in=weeks).order_by("resource__key")
    for block, resource, amount in uses.values_list("block", "resource__key", "amount"):
        needs[block].append((resource, amount))
    return [
        [
            Placed(
                f"{column.day or ''}:{column.kind}",
                block.start,
                block.end,
                block.activity,
                tuple(block.credits),
                tuple(needs[block.key]),
                why.get(block.key, ""),
            )
            for column in side.columns
            for block in column.blocks
        ]
        for side in sides
    ]


def _differ(pairs: Sequence[Pair], of: str = "") -> str:
    """`3 blocks of 24 differ, and 2 only in their reason.`; empty where nothing does."""
    differing = [pair for pair in pairs if pair.differs]
    alone = sum(pair.differs_in_reason_alone for pair in differing)
    others = len(differing) - alone
    told = [f"{counted(others, 'block')}{of} differ{'s' if others == 1 else ''}"] if others or (of and alone) else []
    told += [f"{counted(alone, 'block')} only in {'its' if alone == 1 else 'their'} reason"] if alone else []
    return f"{', and '.join(told)}." if told else ""


def _days(pairs: Sequence[Pair], names: Names) -> Iterator[DayTold]:
    by_day: dict[tuple[str, str], list[Pair]] = defaultdict(list)
    for pair in pairs:
        day, _, kind = pair.day.partition(":")
        by_day[day, kind].append(pair)
    order = {day: place for place, day in enumerate(names.days)}
    for day, kind in sorted(by_day, key=lambda one: (one[1] != REGULAR, order.get(one[0], -1), one)):
        title = [day_in_full(day)] if day else []
        title += [names.kinds[kind]] if kind != REGULAR else []
        some = by_day[day, kind]
        yield DayTold(", ".join(title), tuple(_pair(pair, names) for pair in some), _differ(some) or "the same")


def _pair(pair: Pair, names: Names) -> PairTold:
    mark, how = _how(pair)
    needs = pair.here is None or pair.there is None or pair.here.needs != pair.there.needs
    why = pair.here is None or pair.there is None or pair.here.why != pair.there.why
    here, there = (_block(one, names, needs=needs, why=why) for one in (pair.here, pair.there))
    return PairTold(here, there, mark, how)


def _block(block: Placed | None, names: Names, *, needs: bool, why: bool) -> BlockTold:
    if block is None:
        return BlockTold()
    said = f"{said_clock(block.start)} to {said_clock(block.end)} {names.activities[block.activity]}"
    credits = ", ".join(f"{names.activities[key]} {minutes}" for key, minutes in block.credits)
    wanted = needs_named((names.resources[key], amount) for key, amount in block.needs)
    more = [f"Needs {wanted}"] if needs and wanted else []
    more += [f"Why: {block.why}"] if why and block.why else []
    return BlockTold(said + (f" ({credits})" if credits else ""), tuple(more))


def _how(pair: Pair) -> tuple[str, str]:
    here, there = pair.here, pair.there
    if here is None:
        return "+", "only in the second"
    if there is None:
        return "−", "only in the first"
    if not pair.differs:
        return "", "the same"
    told = []
    if here.activity != there.activity:
        told.append(("≠", "other activity"))
    if here.start != there.start:
        told.append(
            ("→", f"moved {abs(there.start - here.start)} minutes {'later' if there.start > here.start else 'earlier'}")
        )
    if pair.longer:
        told.append(("↕", f"{'longer' if pair.longer > 0 else 'shorter'} by {abs(pair.longer)}"))
    if here.credits != there.credits and here.activity == there.activity:
        told.append(("≈", "other minutes credited"))
    if here.needs != there.needs:
        told.append(("◇", "other needs"))
    if here.why != there.why:
        told.append(("¶", "another reason"))
    return told[0][0], ", ".join(how for _, how in told)
