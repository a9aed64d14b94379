"""Edits of a week: each one deed in one transaction, recorded so that it can be undone.

The caller has the week from `access.week_for_editing` (or `block_for_editing`) inside the same
transaction, so it is locked and its year held; an edit checks what it edits, writes it, appends the change record,
raises the revisions and brings the classroom's readings up to date.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.db import transaction

from scheduling.minutes.layout import piece_credits
from scheduling.minutes.plan import Block as PlannedBlock
from scheduling.minutes.plan import Credit
from scheduling.models import Block, Column, Week, WeekChange
from scheduling.selectors.year_inputs import year_inputs
from scheduling.services import block_writing as writing
from scheduling.services.block_writing import NEW_COLUMN, Placing, Snapshot, placing_of
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
    inputs = year_inputs(week.classroom.year)
    present = writing.standing_blocks(week, [kept["block"] for kept in latest.after])
    for kept in latest.after:
        block = present.get(kept["block"])
        if block is None or writing.snapshot(block.pk, placing_of(block), inputs) != _as_placed(kept):
            raise RuleBroken("This cannot be undone: the block has changed since.")
    put: list[Put] = [(kept["block"], writing.placing_from(kept, inputs)) for kept in latest.before]
    return _edit(
        week, member, "undo", f"Undid: {latest.summary}"[:200], out=list(present.values()), put=put, undoes=latest
    )


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
    inputs = year_inputs(week.classroom.year)
    week.revision += 1
    week.save(update_fields=["revision"])
    before = [writing.snapshot(block.pk, placing_of(block), inputs) for block in out]
    staying = {pk for pk, _ in put if pk is not None}
    standing = {block.pk: block for block in out}
    gone = standing.keys() - staying
    if gone:
        Block.objects.filter(pk__in=gone).delete()
    after = []
    leaving = set(standing)
    for pk, placing in put:
        writing.check_placing(week, placing, inputs)
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
        after.append(writing.snapshot(written.pk, placing, inputs) | ({NEW_COLUMN: True} if is_new else {}))
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


def _told(week: Week, placing: Placing) -> str:
    activity = year_inputs(week.classroom.year).activities.get(placing.activity, "a block")
    day = placing.day or year_inputs(week.classroom.year).day_kinds.get(placing.kind, "")
    return f"{activity}, {day} {written_clock(placing.start)} to {written_clock(placing.end)}"
