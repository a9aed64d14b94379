"""Records of what befalls many weeks at once, so that the history of each leads to what it is."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from typing import Literal

from scheduling.models import Block, BlockCredit, BlockUse, Week, WeekChange
from scheduling.services.block_writing import Snapshot
from teamroom.common.wording import full_date
from teamroom.members.models import Member

AT_A_TIME = 1000
Standing = Literal["in effect", "taken out", "dated"]
STANDING: Mapping[Standing, str] = {
    "in effect": "Put in effect from",
    "taken out": "Taken out of effect, which it was from",
    "dated": "Given another date:",
}
Contents = Mapping[int, list[Snapshot]]
"""Weeks' blocks as the history keeps them, by the week's id."""


def contents_of(weeks: Collection[int]) -> Contents:
    """All blocks of some weeks as they stand, in three queries."""
    mine = {"block__column__week__in": weeks}
    credits: dict[int, list[list[object]]] = defaultdict(list)
    for block, key, minutes in (
        BlockCredit.objects.filter(**mine).order_by("place").values_list("block_id", "activity__key", "minutes")
    ):
        credits[block].append([key, minutes])
    uses: dict[int, list[list[object]]] = defaultdict(list)
    for block, key, amount in (
        BlockUse.objects.filter(**mine).order_by("resource").values_list("block_id", "resource__key", "amount")
    ):
        uses[block].append([key, amount])
    contents: dict[int, list[Snapshot]] = defaultdict(list)
    blocks = Block.objects.filter(column__week__in=weeks).order_by("pk")
    wanted = ("pk", "column__week", "column__day", "column__kind__key", "start", "end", "activity__key", "why")
    for pk, week, day, kind, start, end, activity, why, together in blocks.values_list(*wanted, "together"):
        kept: Snapshot = {"block": pk, "day": day, "kind": kind, "start": start, "end": end, "activity": activity}
        kept |= {"credits": credits.get(pk, []), "why": why}
        if pk in uses:
            kept["uses"] = uses[pk]
        if together is not None:
            kept["together"] = together
        contents[week].append(kept)
    return contents


def record(
    weeks: Collection[Week], deed: str, summary: str, *, member: Member | None = None, before: Contents | None = None
) -> None:
    """A record for each week, at its revision: `before`, or nothing, gave way to what stands in it now."""
    contents = contents_of([week.pk for week in weeks])
    WeekChange.objects.bulk_create(
        (
            WeekChange(
                week=week,
                revision=week.revision,
                member=member,
                deed=deed,
                summary=summary,
                before=(before or {}).get(week.pk, []),
                after=contents.get(week.pk, []),
            )
            for week in weeks
        ),
        batch_size=AT_A_TIME,
    )


def note(week: Week, deed: Standing, member: Member) -> None:
    """A record of what befell a week as a whole and left its blocks as they are: nobody's to undo, but to be known."""
    week.revision += 1
    week.save(update_fields=["revision"])
    summary = f"{STANDING[deed]} {full_date(week.starts)}"
    WeekChange.objects.create(
        week=week, revision=week.revision, member=member, deed=deed, summary=summary, before=[], after=[]
    )
