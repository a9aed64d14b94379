"""What an edit did to who has what classes share: a clash it makes or goes on having, or one that it mends."""

import datetime as dt
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any

from scheduling.minutes.figures import listed
from scheduling.minutes.plan import Block
from scheduling.models import BlockUse, Column, Week, WeekChange
from scheduling.selectors.clash_words import days_said, from_to, parties_said
from scheduling.selectors.resource_uses import Holder, Needing, SchoolUses, school_uses, with_holder
from scheduling.selectors.team_blocks import nearest_day
from scheduling.selectors.year_days import Day
from scheduling.selectors.year_words import ResourceWords, YearWords
from scheduling.sharing import Clash

Kept = Mapping[str, Any]
Met = dict[tuple[object, ...], list[tuple[Day, Clash]]]
MOST_TOLD = 2


def clashes_said(change: WeekChange, words: YearWords) -> list[str]:
    """`Science lab is also Room 14's from 9:00 to 9:30 on Monday.`, of the resources that the edited blocks need
    or needed; of blocks that need none nothing, in one query where the edit is of several weeks and in none
    where it is not. A draft takes nothing from anybody."""
    if change.week.draft:
        return []
    changes = [change]
    if change.batch is not None:
        others = WeekChange.objects.filter(batch=change.batch).exclude(pk=change.pk)
        changes += others.select_related("week__classroom").order_by("week__classroom")
    kept = [kept for one in changes for kept in (*one.before, *one.after)]
    keys = {key for one in kept for key, _ in one.get("uses", ())}
    wanted = [one for one in words.resources.values() if one.key in keys]
    return list(_said(changes, wanted, words)) if wanted else []


def week_clashes_said(week: Week, words: YearWords) -> list[str]:
    """The same of all that a week needs, for when it comes in effect; nothing of one that needs nothing."""
    needing = BlockUse.objects.filter(block__column__week=week).values_list("block", "resource")
    blocks, needed = {block for block, _ in needing}, {resource for _, resource in needing}
    wanted = [one for one in words.resources.values() if one.pk in needed]
    if not wanted:
        return []
    now = school_uses(week.classroom.year, nearest_day(week), [one.pk for one in wanted])
    return [said for resource in wanted for said in _all_said(resource, _met(now, resource, blocks), now, blocks)]


def _said(changes: Sequence[WeekChange], resources: Sequence[ResourceWords], words: YearWords) -> Iterator[str]:
    own = changes[0]
    on: dt.date = nearest_day(own.week)
    now = school_uses(own.week.classroom.year, on, [one.pk for one in resources])
    was = now
    for change in changes:
        was = _before(was, change, words)
    before, after = _blocks(changes, "before"), _blocks(changes, "after")
    for resource in resources:
        met, had = _met(now, resource, after), _met(was, resource, before)
        yield from _all_said(resource, met, now, _blocks([own], "after"))
        if had and not met:
            yield f"{resource.name} is no longer wanted by more classes than can have it."


def _all_said(resource: ResourceWords, met: Met, uses: SchoolUses, blocks: Collection[int]) -> Iterator[str]:
    told = [_also_said(resource, some, uses, blocks) for some in met.values()]
    yield from told[:MOST_TOLD]
    if len(told) > MOST_TOLD:
        yield f"{resource.name} has more clashes: see its page."


def _blocks(changes: Sequence[WeekChange], side: str) -> set[int]:
    return {kept["block"] for change in changes for kept in getattr(change, side)}


def _met(uses: SchoolUses, resource: ResourceWords, blocks: Collection[int]) -> Met:
    """The clashes in which some blocks take part, alike ones of several days together."""
    found: Met = {}
    for day, some in uses.clashes(resource, uses.days(resource.pk)).items():
        for clash in some:
            if any(use.block in blocks for use in clash.uses):
                parties = tuple((use.place, use.start, use.end, use.amount) for use in clash.uses)
                found.setdefault((clash.start, clash.end, parties), []).append((day, clash))
    return found


def _also_said(
    resource: ResourceWords, some: Sequence[tuple[Day, Clash]], uses: SchoolUses, blocks: Collection[int]
) -> str:
    clash = some[0][1]
    rooms = {pk: holder.room for pk, holder in uses.holders.items()}
    when = f"{from_to(clash)} on {days_said([day for day, _ in some], uses.words)}"
    if not any(use.block in blocks for use in clash.uses):
        return f"{resource.name} is wanted by {parties_said(clash, rooms)} {when}."
    if resource.capacity == 1:
        others = list(dict.fromkeys(str(rooms[use.place]) for use in clash.uses if use.block not in blocks))
        return f"{resource.name} is also {listed([f'{name}’s' for name in others])} {when}."
    others_said = parties_said(clash, rooms, but=blocks)
    return f"{resource.name}: {clash.wanted} are wanted and there are {resource.capacity}, {when}, with {others_said}."


def _before(now: SchoolUses, change: WeekChange, words: YearWords) -> SchoolUses:
    """The uses as they were before an edit: its classroom's week with the blocks out of the record put back."""
    room, after = change.week.classroom, {kept["block"] for kept in change.after}
    holder = now.holders.get(room.pk) or _without_needs(change.week, words)
    made = {(kept["day"] or None, kept["kind"]) for kept in change.after if "new_column" in kept}
    columns = {
        place: tuple(block for block in blocks if block.key not in after)
        for place, blocks in holder.columns.items()
        if place not in made
    }
    needing = {pk: needs for pk, needs in holder.needing.items() if pk not in after}
    by_key = {one.key: one.pk for one in words.resources.values()}
    for kept in change.before:
        place = kept["day"] or None, kept["kind"]
        block = Block(kept["start"], kept["end"], kept["activity"], key=kept["block"])
        columns[place] = (*columns.get(place, ()), block)
        amounts = {by_key[key]: amount for key, amount in kept.get("uses", ()) if key in by_key}
        needing[kept["block"]] = Needing(0, amounts)
    return with_holder(now, Holder(room, columns, holder.bells, needing))


def _without_needs(week: Week, words: YearWords) -> Holder:
    """The week of a classroom whose blocks need nothing now."""
    kinds = words.inputs.day_kinds
    rows = Column.objects.filter(week=week).values_list("day", "kind")
    columns: dict[tuple[str | None, str], tuple[Block, ...]] = {(day or None, kinds[kind]): () for day, kind in rows}
    return Holder(week.classroom, columns, words.inputs.bells.get(week.classroom.grades[0], {}), {})
