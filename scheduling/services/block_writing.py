"""Writing blocks: the checks every edit shares, the rows, and snapshots for the history."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from scheduling.models import Block, BlockCredit, BlockUse, Column, Week
from scheduling.selectors.year_inputs import YearInputs
from scheduling.selectors.year_words import ResourceWords, year_words
from scheduling.services.credits import check_credits
from teamroom.common.clock import said_clock
from teamroom.common.errors import RuleBroken
from teamroom.dates.selectors import cycle_of

MIDNIGHT = 24 * 60
LONGEST_WHY = 10_000
"""Letters of a reason: as many as a school file carries."""
NEW_COLUMN = "new_column"
"""Marks, in the history, a block whose column was made for it."""
Snapshot = dict[str, Any]


@dataclass(frozen=True)
class Placing:
    """Where and what a block is to be. `day` is a cycle day, or empty for the kind's own column;
    `kind` and `activity` are ids; `credits` pairs activity ids with minutes, in order; `uses` pairs
    shared resources' ids with how much of each, in order of their ids; `together` is the team block's id."""

    day: str
    kind: int
    start: int
    end: int
    activity: int
    credits: tuple[tuple[int, int], ...] = ()
    why: str = ""
    uses: tuple[tuple[int, int], ...] = ()
    together: int | None = None


def check_placing(week: Week, placing: Placing, inputs: YearInputs) -> None:
    """Raise RuleBroken, naming the form field, if the block could not be so."""
    if not 0 <= placing.start < MIDNIGHT:
        raise RuleBroken("Give the block a start between 00:00 and 23:59.", field="start")
    if placing.end <= placing.start:
        raise RuleBroken(f"Give the block an end after {said_clock(placing.start)}.", field="end")
    if placing.end > MIDNIGHT:
        raise RuleBroken("Give the block an end by 24:00.", field="end")
    year = week.classroom.year
    if placing.day and placing.day not in cycle_of(year).day_names:
        raise RuleBroken("Choose a day of this school's cycle.", field="day")
    if placing.kind not in inputs.day_kinds:
        raise RuleBroken("Choose one of this year's day kinds.", field="day")
    if len(placing.why.strip()) > LONGEST_WHY:
        raise RuleBroken(f"Give the reason in {LONGEST_WHY:,} letters or fewer.", field="why")
    if placing.activity not in inputs.activities:
        raise RuleBroken("Choose one of this year's activities.", field="activity")
    check_credits(placing.credits, placing.end - placing.start, inputs.activities)
    if placing.uses:
        check_uses(placing.uses, year_words(year).resources)


def check_uses(uses: Sequence[tuple[int, int]], resources: Mapping[int, ResourceWords]) -> None:
    """Raise RuleBroken if a block cannot need so much of what the school's classes share."""
    if any(resource not in resources or amount < 1 for resource, amount in uses):
        raise RuleBroken("Choose among what this school's classes share, one or more of each.", field="uses")
    if len({resource for resource, _ in uses}) < len(uses):
        raise RuleBroken("Name each thing it needs once, and how many of it.", field="uses")
    for resource, amount in uses:
        found = resources[resource]
        if amount > found.capacity:
            raise RuleBroken(
                f"{found.name}: there {'is' if found.capacity == 1 else 'are'} {found.capacity}, "
                f"and the block needs {amount}. Ask for {found.capacity} at most.",
                field="uses",
            )


def check_room(column: Column, placing: Placing, *, leaving: Iterable[int] = ()) -> None:
    """Raise RuleBroken if another block, not among those leaving, takes some of the time.

    The database forbids it too; here the block in the way is named.
    """
    other = in_the_way(Block.objects.filter(column=column), placing, leaving)
    if other is not None:
        raise RuleBroken(
            f"{other.activity} already takes {said_clock(other.start)} to {said_clock(other.end)}: "
            "choose another time, or move that block first.",
            field="start",
        )


def in_the_way(there: QuerySet[Block], placing: Placing, leaving: Iterable[int]) -> Block | None:
    """The first of some blocks, not among those leaving, that takes some of a placing's time."""
    taken = there.filter(start__lt=placing.end, end__gt=placing.start).exclude(pk__in=list(leaving))
    return taken.select_related("activity").order_by("start").first()


def column_for(week: Week, day: str, kind: int) -> tuple[Column, bool]:
    """The week's column of a day and kind, and whether it had to be made."""
    return Column.objects.get_or_create(week=week, day=day, kind_id=kind)


def put_block(
    column: Column, placing: Placing, *, pk: int | None, revision: int, standing: Block | None = None
) -> Block:
    """Write a block with its credits and uses; with a `pk` under that id. `standing` is the block as it was
    with them loaded, if it was there: what it had of them gives way."""
    block = Block(
        pk=pk,
        column=column,
        start=placing.start,
        end=placing.end,
        activity_id=placing.activity,
        why=placing.why.strip(),
        revision=revision,
        together_id=placing.together,
    )
    block.save()
    if standing is not None and standing.credits.all():
        BlockCredit.objects.filter(block=block).delete()
    if standing is not None and standing.uses.all():
        BlockUse.objects.filter(block=block).delete()
    if placing.credits:
        BlockCredit.objects.bulk_create(
            BlockCredit(block=block, place=place, activity_id=activity, minutes=minutes)
            for place, (activity, minutes) in enumerate(placing.credits)
        )
    if placing.uses:
        BlockUse.objects.bulk_create(
            BlockUse(block=block, resource_id=resource, amount=amount) for resource, amount in placing.uses
        )
    return block


def placing_of(block: Block, **changed: Any) -> Placing:
    """A block's present placing, with some of it changed."""
    present: dict[str, Any] = {
        "day": block.column.day,
        "kind": block.column.kind_id,
        "start": block.start,
        "end": block.end,
        "activity": block.activity_id,
        "credits": tuple((credit.activity_id, credit.minutes) for credit in block.credits.all()),
        "why": block.why,
        "uses": tuple(sorted((use.resource_id, use.amount) for use in block.uses.all())),
        "together": block.together_id,
    }
    return Placing(**{**present, **changed})


def snapshot(block_id: int, placing: Placing, inputs: YearInputs) -> Snapshot:
    """A block as the history keeps it, in the school's own keys. What it does not have is left out of the last two."""
    kept: Snapshot = {
        "block": block_id,
        "day": placing.day,
        "kind": inputs.day_kinds[placing.kind],
        "start": placing.start,
        "end": placing.end,
        "activity": inputs.activities[placing.activity],
        "credits": [[inputs.activities[activity], minutes] for activity, minutes in placing.credits],
        "why": placing.why.strip(),
    }
    if placing.uses:
        kept["uses"] = [[inputs.resources[resource], amount] for resource, amount in placing.uses]
    if placing.together is not None:
        kept["together"] = placing.together
    return kept


def placing_from(kept: Snapshot, inputs: YearInputs) -> Placing:
    """A placing out of the history; RuleBroken if an activity, kind or shared resource is no more."""
    resources = {key: pk for pk, key in inputs.resources.items()}
    kinds = {key: pk for pk, key in inputs.day_kinds.items()}
    activities = {key: pk for pk, key in inputs.activities.items()}
    try:
        return Placing(
            kept["day"],
            kinds[kept["kind"]],
            kept["start"],
            kept["end"],
            activities[kept["activity"]],
            tuple((activities[key], minutes) for key, minutes in kept["credits"]),
            kept["why"],
            tuple(sorted((resources[key], amount) for key, amount in kept.get("uses", ()))),
            kept.get("together"),
        )
    except KeyError as missing:
        gone = str(missing.args[0]).replace("_", " ").replace("-", " ")
        raise RuleBroken(f"This cannot be brought back: the school no longer has “{gone}”.") from missing


def standing_blocks(week: Week, ids: Sequence[int]) -> dict[int, Block]:
    """Those of some blocks that are in the week now, by id."""
    blocks = Block.objects.filter(pk__in=ids, column__week=week).select_related("column__kind", "activity")
    blocks = blocks.prefetch_related("credits", "uses")
    return {block.pk: block for block in blocks}
