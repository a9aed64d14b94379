"""Team blocks: shared, taken into a classroom's week, changed in all classrooms as one deed, stepped out of.

What a team block's blocks have in common never changes under the same id: a change of it makes
another team block of those it reaches, so blocks of one team block agree in whatever week they
stand. The caller has the block from `access`, inside the same transaction, with all weeks locked.
"""

import uuid
from collections.abc import Sequence
from dataclasses import replace

from scheduling.access import Sharing
from scheduling.minutes.figures import listed
from scheduling.models import Block, Column, TeamBlock, Week, WeekChange
from scheduling.selectors.team_blocks import WayIn, is_whole_plan, not_planned_apart, ways_into
from scheduling.services.block_writing import Placing, placing_of
from scheduling.services.week_edits import (
    By,
    Edit,
    Put,
    check_fresh,
    edit_of,
    edit_week,
    follow_up,
    in_edit,
    refused_in,
    write_change,
)
from scheduling.services.week_records import contents_of, record
from teamroom.common.errors import RuleBroken, Stale
from teamroom.dates.models import DayKind
from teamroom.members.models import Classroom, Member


def edit_block(block: Block, by: By, deed: str, summary: str, *, put: Sequence[Put] = ()) -> Edit:
    """Put others in the place of a block, of a team block in every classroom that holds it.

    What only this classroom's block has (what it uses of the shared resources) changes there alone.
    """
    if block.together_id is None or [(pk, in_common(placing)) for pk, placing in put] == [
        (block.pk, in_common(placing_of(block)))
    ]:
        return edit_week(block.column.week, by, deed, summary, out=[block], put=put)
    if block.held_with is None:
        raise RuntimeError("A team block is edited as access.block_for_editing gives it.")
    if block.not_theirs:
        raise RuleBroken(not_theirs_said(block.not_theirs))
    team = block.column.week.classroom.team_id
    wanted = [(pk, replace(placing, together=TeamBlock.objects.create(team_id=team).pk)) for pk, placing in put]
    weeks = [block.column.week, *(other.column.week for other in block.held_with)]
    by = replace(by, batch=uuid.uuid4()) if len(weeks) > 1 else by
    change = write_change(block.column.week, by, deed, summary, out=[block], put=wanted)
    for other in block.held_with:
        with refused_in(other.column.week.classroom):
            for _, placing in wanted:
                _check_column(other, placing)
            own = [_as_others(other, pk, placing) for pk, placing in wanted]
            write_change(other.column.week, by, deed, summary, out=[other], put=own)
    return edit_of(change, weeks, follow_up(weeks))


def in_common(placing: Placing) -> Placing:
    """What the blocks of a team block have in common of how one of them stands."""
    return replace(placing, uses=(), together=None)


def not_theirs_said(classrooms: Sequence[Classroom]) -> str:
    """`Room 12 holds this block too and is not yours to change: ask the lead, or step out of it.`"""
    hold, are = ("holds", "is") if len(classrooms) == 1 else ("hold", "are")
    names = listed([str(room) for room in classrooms])
    return f"{names} {hold} this block too and {are} not yours to change: ask the lead, or step out of it."


@in_edit
def share(sharing: Sharing, *, member: Member, revision: int, seen: Sequence[str], reason: str = "") -> Edit:
    """Let the weeks of a sharing hold its block too, which becomes a team block if it is none.

    In each it takes the place of a block that equals it, or goes into free time; RuleBroken, naming
    what stands in the way, if it can do neither in one of them. `seen` are the ways in (their
    tokens) that the member agreed to; Stale if they are others now. The edit is as made in the
    block's own week, or, if that held it already, in the first that came to.
    """
    block, by = sharing.block, By(member, reason, uuid.uuid4())
    check_fresh(block, revision)
    ways = ways_into(block, [(week.classroom, week) for week in sharing.weeks])
    _check_ways(ways, seen)
    is_new = block.together_id is None
    team = TeamBlock.objects.create(team_id=block.column.week.classroom.team_id).pk if is_new else block.together_id
    placing = placing_of(block, together=team)
    changes = []
    if is_new:
        own = block.column.week
        changes.append(write_change(own, by, "share", "Made a team block", out=[block], put=[(block.pk, placing)]))
    for way, week in zip(ways, sharing.weeks, strict=True):
        changes.append(_join(week, way, by, placing))
    weeks = [change.week for change in changes]
    return edit_of(changes[0], weeks, follow_up(weeks))


@in_edit
def step_out(block: Block, *, member: Member, revision: int, reason: str = "") -> Edit:
    """Let a classroom keep its block as its own, no longer changed by others."""
    check_fresh(block, revision)
    if block.together_id is None:
        raise RuleBroken("This block is the classroom's own already.")
    put: list[Put] = [(block.pk, placing_of(block, together=None))]
    summary = "Stepped out of a team block"
    return edit_week(block.column.week, By(member, reason), "step out", summary, out=[block], put=put)


def leave_team(classroom: Classroom) -> None:
    """Let a classroom that goes to another team keep its team blocks as its own. The year is the caller's alone."""
    held = Week.objects.filter(classroom=classroom, columns__blocks__together__isnull=False)
    weeks = list(held.distinct().order_by("pk"))
    if not weeks:
        return
    before = contents_of([week.pk for week in weeks])
    for week in weeks:
        week.revision += 1
        week.save(update_fields=["revision"])
        # All of its blocks are in the record.
        Block.objects.filter(column__week=week).update(together=None, revision=week.revision)
    record(weeks, "step out", "Kept the former team's blocks as its own", before=before)


def _check_ways(ways: Sequence[WayIn], seen: Sequence[str]) -> None:
    if not ways:
        raise RuleBroken("Choose a classroom that is to hold the block too.", field="classrooms")
    for way in ways:
        if way.obstacle:
            raise RuleBroken(f"{way.classroom}: {way.obstacle}.", field="classrooms")
    if {way.token for way in ways} != set(seen):
        raise Stale("A week of the team has changed meanwhile: look at what this does now, and decide again.")


def _join(week: Week, way: WayIn, by: By, placing: Placing) -> WeekChange:
    if way.gives_way is None:
        return write_change(week, by, "join", "Took a team block in", put=[(None, replace(placing, uses=()))])
    put = _as_others(way.gives_way, way.gives_way.pk, placing)
    return write_change(week, by, "join", "Took a team block in", out=[way.gives_way], put=[put])


def _as_others(other: Block, pk: int | None, placing: Placing) -> Put:
    """How what is put for one classroom's block is put for another's, which keeps what is its own."""
    return (None if pk is None else other.pk), replace(placing, uses=placing_of(other).uses)


def _check_column(other: Block, placing: Placing) -> None:
    """RuleBroken if a column made for the block would take the place of all that is planned for such days."""
    if (placing.day, placing.kind) == (other.column.day, other.column.kind_id):
        return
    kind = DayKind.objects.get(pk=placing.kind)
    if not is_whole_plan(placing.day, kind):
        return
    if not Column.objects.filter(week=other.column.week, day=placing.day, kind=kind).exists():
        raise RuleBroken(f"{not_planned_apart(kind)}.", field="day")
