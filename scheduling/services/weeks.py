"""Edits of a week: each one deed in one transaction, recorded so that it can be undone.

The caller has the week from `access.week_for_editing` (or `block_for_editing`) inside the same
transaction, so it is locked and its year held; an edit checks what it edits, writes it, appends the change record,
raises the revisions and brings the classroom's readings up to date.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.db import transaction

from scheduling.minutes.layout import piece_credits
from scheduling.minutes.plan import Block as PlannedBlock
from scheduling.minutes.plan import Credit
from scheduling.models import Block, Column, Week, WeekChange
from scheduling.selectors.year_inputs import year_inputs
from scheduling.services import block_writing as writing
from scheduling.services.block_writing import NEW_COLUMN, Keys, Placing, Snapshot, placing_of
from scheduling.services.compliance import ReadingChanges, recompute
from teamroom.common.clock import said_clock, written_clock
from teamroom.common.errors import RuleBroken, Stale
from teamroom.common.live import announce
from teamroom.members.models import Member

# The caller's transaction is the edit's own; a savepoint inside it would cost two round trips.
in_edit = transaction.atomic(savepoint=False)

Put = tuple[int | None, Placing]


@dataclass(frozen=True)
class Edit:
    """What an edit did: its record, and the readings it changed."""

    change: WeekChange
    readings: ReadingChanges


@in_edit
def add_block(week: Week, *, member: Member, placing: Placing) -> Edit:
    """Place a new block in the week."""
    return _edit(week, member, "add", f"Added {_told(week, placing)}", put=[(None, placing)])


@in_edit
def change_block(block: Block, *, member: Member, revision: int, placing: Placing) -> Edit:
    """Give a block another time, day, activity, credits or reason: whatever of it differs."""
    _check_fresh(block, revision)
    if placing == placing_of(block):
        raise RuleBroken("Nothing was changed.")
    week = block.column.week
    return _edit(week, member, "change", f"Changed {_told(week, placing)}", out=[block], put=[(block.pk, placing)])


@in_edit
def move_block(block: Block, *, member: Member, revision: int, day: str, kind: int, start: int, end: int) -> Edit:
    """Put a block at another time or in another column; credits that no longer fit are refused."""
    _check_fresh(block, revision)
    placing = placing_of(block, day=day, kind=kind, start=start, end=end)
    if placing == placing_of(block):
        raise RuleBroken("The block is already there.")
    week = block.column.week
    return _edit(week, member, "move", f"Moved {_told(week, placing)}", out=[block], put=[(block.pk, placing)])


@in_edit
def split_block(block: Block, *, member: Member, revision: int, at: int) -> Edit:
    """Make two adjacent blocks of one; credits are shared by length and none is lost."""
    _check_fresh(block, revision)
    if not block.start < at < block.end:
        raise RuleBroken(f"Split between {said_clock(block.start)} and {said_clock(block.end)}.", field="at")
    whole = placing_of(block)
    first, second = _halves(whole, at)
    summary = f"Split {_told(block.column.week, whole)} at {written_clock(at)}"
    return _edit(block.column.week, member, "split", summary, out=[block], put=[(block.pk, first), (None, second)])


@in_edit
def remove_block(block: Block, *, member: Member, revision: int) -> Edit:
    """Take a block out of the week."""
    _check_fresh(block, revision)
    week = block.column.week
    return _edit(week, member, "remove", f"Removed {_told(week, placing_of(block))}", out=[block])


@in_edit
def undo(week: Week, *, member: Member, change: int | None = None) -> Edit:
    """Take back the latest edit that still stands, by its inverse.

    `change` is the id of the edit meant; Stale if another has come since, so that nobody takes
    back what they have not seen.
    """
    latest = last_to_undo(week)
    if latest is None:
        raise RuleBroken("There is nothing left to undo in this week.")
    if change is not None and change != latest.pk:
        raise Stale(
            f"The latest edit is now another: {latest.summary}. Load the page again to see it, and decide then."
        )
    keys = _keys(week)
    present = writing.standing_blocks(week, [kept["block"] for kept in latest.after])
    for kept in latest.after:
        block = present.get(kept["block"])
        if block is None or writing.snapshot(block.pk, placing_of(block), keys) != _as_placed(kept):
            raise RuleBroken("This cannot be undone: the block has changed since.")
    put: list[Put] = [(kept["block"], writing.placing_from(kept, keys)) for kept in latest.before]
    return _edit(
        week, member, "undo", f"Undid: {latest.summary}"[:200], out=list(present.values()), put=put, undoes=latest
    )


@in_edit
def start_week(week: Week, *, starts: dt.date) -> tuple[Week, ReadingChanges]:
    """A copy of the week in effect from another date on, to be changed without touching the past."""
    year = week.classroom.year
    _check_start(week, starts)
    copy = Week.objects.create(classroom=week.classroom, starts=starts)
    for column in week.columns.order_by("pk").prefetch_related("blocks__credits"):
        blocks = list(column.blocks.all())
        column_copy, _ = writing.column_for(copy, column.day, column.kind_id)
        for block in blocks:
            block.column = column
            writing.put_block(column_copy, placing_of(block), pk=None, revision=1)
    announce(f"classroom-{week.classroom_id}", copy.pk)
    return copy, recompute(year, classrooms=[week.classroom])


@in_edit
def move_start(week: Week, *, starts: dt.date) -> ReadingChanges:
    """Put the week in effect from another date."""
    year = week.classroom.year
    _check_start(week, starts)
    week.starts = starts
    week.save(update_fields=["starts"])
    announce(f"classroom-{week.classroom_id}", week.pk)
    return recompute(year, classrooms=[week.classroom])


@in_edit
def drop_week(week: Week) -> ReadingChanges:
    """Take a version of the week away, with its history; the one before it takes its place."""
    year = week.classroom.year
    classroom = week.classroom
    week.delete()
    announce(f"classroom-{classroom.pk}", 0)
    return recompute(year, classrooms=[classroom])


def _check_start(week: Week, starts: dt.date) -> None:
    year = week.classroom.year
    if not year.first_day <= starts <= year.last_day:
        raise RuleBroken(f"Choose a date from {year.first_day:%d %b %Y} to {year.last_day:%d %b %Y}.", field="starts")
    if Week.objects.filter(classroom=week.classroom, starts=starts).exists():
        raise RuleBroken("Another week of this classroom starts on that date.", field="starts")


def last_to_undo(week: Week) -> WeekChange | None:
    """The edit that `undo` would take back: the latest that is neither an undoing nor undone."""
    return WeekChange.objects.filter(week=week, undoes=None, undone_by=None).order_by("-revision").first()


def _edit(
    week: Week,
    member: Member,
    deed: str,
    summary: str,
    *,
    out: Sequence[Block] = (),
    put: Sequence[Put] = (),
    undoes: WeekChange | None = None,
) -> Edit:
    """Take blocks out and put others in, as one recorded change of the week."""
    keys = _keys(week)
    week.revision += 1
    week.save(update_fields=["revision"])
    before = [writing.snapshot(block.pk, placing_of(block), keys) for block in out]
    staying = {pk for pk, _ in put if pk is not None}
    standing = {block.pk: block for block in out}
    gone = standing.keys() - staying
    if gone:
        Block.objects.filter(pk__in=gone).delete()
    after = []
    leaving = set(standing)
    for pk, placing in put:
        writing.check_placing(week, placing, keys)
        block = standing.get(pk or 0)
        column, is_new = _column(week, block, placing)
        writing.check_room(column, placing, leaving=leaving)
        written = writing.put_block(
            column,
            placing,
            pk=pk,
            revision=week.revision,
            credited=block is None or bool(block.credits.all()),
        )
        leaving.discard(written.pk)
        after.append(writing.snapshot(written.pk, placing, keys) | ({NEW_COLUMN: True} if is_new else {}))
    _drop_emptied(out, undoes)
    change = WeekChange.objects.create(
        week=week,
        revision=week.revision,
        member=member,
        deed=deed,
        summary=summary[:200],
        before=before,
        after=after,
        undoes=undoes,
    )
    readings = recompute(week.classroom.year, classrooms=[week.classroom])
    announce(f"week-{week.pk}", week.revision)
    return Edit(change, readings)


def _column(week: Week, block: Block | None, placing: Placing) -> tuple[Column, bool]:
    """The column a block is to stand in, mostly the one it stands in, and whether it is a new one."""
    if block is not None and (block.column.day, block.column.kind_id) == (placing.day, placing.kind):
        return block.column, False
    return writing.column_for(week, placing.day, placing.kind)


def _drop_emptied(out: Sequence[Block], undoes: WeekChange | None) -> None:
    """Take away columns of another kind of day that the edit has left without a block.

    Such a day then has its regular column again; an empty one would plan nothing for it. An
    undoing takes away only what its edit had made, so that all is as it was.
    """
    if undoes is not None:
        made = {kept["block"] for kept in undoes.after if NEW_COLUMN in kept}
        out = [block for block in out if block.pk in made]
    special = {block.column_id for block in out if not (block.column.day and block.column.kind.is_regular)}
    if special:
        Column.objects.filter(pk__in=special, blocks=None).delete()


def _as_placed(kept: Snapshot) -> Snapshot:
    return {name: value for name, value in kept.items() if name != NEW_COLUMN}


def _check_fresh(block: Block, revision: int) -> None:
    if block.revision != revision:
        raise Stale(
            f"{block.activity} has changed meanwhile: it now takes {said_clock(block.start)} to "
            f"{said_clock(block.end)}. Look at it and decide again; nothing was overwritten."
        )


def _halves(whole: Placing, at: int) -> tuple[Placing, Placing]:
    first, second = replace(whole, end=at), replace(whole, start=at)
    if not whole.credits:
        return first, second
    planned = PlannedBlock(
        whole.start, whole.end, "", tuple(Credit(str(activity), minutes) for activity, minutes in whole.credits)
    )
    shares = {int(credit.activity): credit.minutes for credit in piece_credits(planned, at - whole.start)}
    rest = {activity: minutes - shares.get(activity, 0) for activity, minutes in whole.credits}
    if not shares or not any(rest.values()):
        raise RuleBroken("Too few credited minutes to share between two blocks: change the credits first.", field="at")
    return (
        replace(first, credits=tuple(shares.items())),
        replace(second, credits=tuple((activity, minutes) for activity, minutes in rest.items() if minutes)),
    )


def _keys(week: Week) -> Keys:
    inputs = year_inputs(week.classroom.year)
    return Keys(inputs.activities, inputs.day_kinds)


def _told(week: Week, placing: Placing) -> str:
    activity = _keys(week).activities.get(placing.activity, "a block")
    day = placing.day or _keys(week).kinds.get(placing.kind, "")
    return f"{activity}, {day} {written_clock(placing.start)} to {written_clock(placing.end)}"
