"""The heart of every edit of a week: blocks out and in, the change record, readings, and telling others.

The caller has the weeks from `access`, inside the same transaction, locked and their year held.
"""

import uuid
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from django.db import transaction

from scheduling.models import Block, Column, Week, WeekChange
from scheduling.selectors.year_inputs import year_inputs
from scheduling.services import block_writing as writing
from scheduling.services.block_writing import NEW_COLUMN, Placing, placing_of
from scheduling.services.compliance import ReadingChanges, recompute
from teamroom.common.clock import said_clock
from teamroom.common.errors import RuleBroken, Stale
from teamroom.common.live.announcing import announce, classroom_topic
from teamroom.members.models import Classroom, Member

# The caller's transaction is the edit's own; a savepoint inside it would cost two round trips.
in_edit = transaction.atomic(savepoint=False)

Put = tuple[int | None, Placing]
"""A block's id, or None for a new one, and how it is to stand."""


@dataclass(frozen=True)
class Elsewhere:
    """What an edit of several weeks did in another classroom."""

    classroom: Classroom
    readings: ReadingChanges


@dataclass(frozen=True)
class Edit:
    """What an edit did: its record, the readings it changed, and what it did in other classrooms."""

    change: WeekChange
    readings: ReadingChanges
    elsewhere: tuple[Elsewhere, ...] = ()


@dataclass(frozen=True)
class By:
    """Who edits, and what they say about it: why, and which deed of several weeks it is part of."""

    member: Member
    reason: str = ""
    batch: uuid.UUID | None = None


def edit_week(
    week: Week,
    by: By,
    deed: str,
    summary: str,
    *,
    out: Sequence[Block] = (),
    put: Sequence[Put] = (),
    undoes: WeekChange | None = None,
) -> Edit:
    """Take blocks out of a week and put others in, as one recorded change, with all that follows from it."""
    change = write_change(week, by, deed, summary, out=out, put=put, undoes=undoes)
    return Edit(change, follow_up([week]))


def edit_of(change: WeekChange, weeks: Sequence[Week], readings: ReadingChanges) -> Edit:
    """An edit of several weeks as somebody made it at one of them, whose record is given."""
    own = change.week.classroom_id
    others = [week.classroom for week in weeks if week.classroom_id != own]
    return Edit(change, readings.of(own), tuple(Elsewhere(room, readings.of(room.pk)) for room in others))


def follow_up(weeks: Sequence[Week]) -> ReadingChanges:
    """What an edit leads to, once its changes are written: readings brought up to date, others told."""
    counting = [week.classroom for week in weeks if not week.draft]
    readings = recompute(weeks[0].classroom.year, classrooms=counting) if counting else ReadingChanges()
    announce(*(classroom_topic(week.classroom_id) for week in weeks))
    return readings


def write_change(
    week: Week,
    by: By,
    deed: str,
    summary: str,
    *,
    out: Sequence[Block] = (),
    put: Sequence[Put] = (),
    undoes: WeekChange | None = None,
) -> WeekChange:
    """Take blocks out of a week and put others in, and record it. Whoever calls this calls `follow_up` after it."""
    inputs = year_inputs(week.classroom.year)
    if len(by.reason.strip()) > writing.LONGEST_WHY:
        raise RuleBroken(f"Say why in {writing.LONGEST_WHY:,} letters or fewer.", field="reason")
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
        written = writing.put_block(column, placing, pk=pk, revision=week.revision, standing=block)
        leaving.discard(written.pk)
        after.append(writing.snapshot(written.pk, placing, inputs) | ({NEW_COLUMN: True} if is_new else {}))
    _drop_emptied(out, undoes)
    return WeekChange.objects.create(
        week=week,
        revision=week.revision,
        member=by.member,
        deed=deed,
        summary=summary[:200],
        reason=by.reason.strip(),
        batch=by.batch,
        before=before,
        after=after,
        undoes=undoes,
    )


@contextmanager
def refused_in(classroom: Classroom) -> Iterator[None]:
    """What is refused inside is told as refused in that classroom, for an edit that is made at another."""
    try:
        yield
    except RuleBroken as broken:
        said = broken.message
        said = said[:1].lower() + said[1:] if said.startswith("This ") else said
        raise RuleBroken(f"In {classroom}, {said}", field=broken.field) from broken


def check_fresh(block: Block, revision: int) -> None:
    """Raise Stale if the block is no longer as it was at the revision."""
    if block.revision != revision:
        raise Stale(
            f"{block.activity} has changed meanwhile: it now takes {said_clock(block.start)} to "
            f"{said_clock(block.end)}. Look at it and decide again; nothing was overwritten."
        )


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
