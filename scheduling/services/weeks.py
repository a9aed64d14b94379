"""Edits of a week: each one deed in one transaction, recorded so that it can be undone.

The caller has the week from `access.week_for_editing` (or `block_for_editing`) inside the same
transaction, so it is locked and its year held; an edit checks what it edits, writes it, appends the change record,
raises the revisions and brings the classroom's readings up to date. Of a team block it does so in every classroom that
holds it, as one deed.
"""

from dataclasses import replace

from scheduling.minutes.layout import piece_credits
from scheduling.minutes.plan import Block as PlannedBlock
from scheduling.minutes.plan import Credit
from scheduling.models import Block, Week
from scheduling.selectors.year_inputs import year_inputs
from scheduling.services.block_writing import Placing, placing_of
from scheduling.services.team_blocks import edit_block
from scheduling.services.week_edits import By, Edit, check_fresh, edit_week, in_edit
from teamroom.common.clock import said_clock, written_clock
from teamroom.common.errors import RuleBroken
from teamroom.members.models import Member


@in_edit
def add_block(week: Week, *, member: Member, placing: Placing, reason: str = "") -> Edit:
    """Place a new block in the week."""
    return edit_week(week, By(member, reason), "add", f"Added {_told(week, placing)}", put=[(None, placing)])


@in_edit
def change_block(block: Block, *, member: Member, revision: int, placing: Placing, reason: str = "") -> Edit:
    """Give a block another time, day, activity, credits or reason: whatever of it differs."""
    check_fresh(block, revision)
    if placing == placing_of(block):
        raise RuleBroken("Nothing was changed.")
    summary = f"Changed {_told(block.column.week, placing)}"
    return edit_block(block, By(member, reason), "change", summary, put=[(block.pk, placing)])


@in_edit
def move_block(
    block: Block, *, member: Member, revision: int, day: str, kind: int, start: int, end: int, reason: str = ""
) -> Edit:
    """Put a block at another time or in another column; credits that no longer fit are refused."""
    check_fresh(block, revision)
    placing = placing_of(block, day=day, kind=kind, start=start, end=end)
    if placing == placing_of(block):
        raise RuleBroken("The block is already there.")
    summary = f"Moved {_told(block.column.week, placing)}"
    return edit_block(block, By(member, reason), "move", summary, put=[(block.pk, placing)])


@in_edit
def split_block(block: Block, *, member: Member, revision: int, at: int, reason: str = "") -> Edit:
    """Make two adjacent blocks of one; credits are shared by length and none is lost."""
    check_fresh(block, revision)
    if not block.start < at < block.end:
        raise RuleBroken(f"Split between {said_clock(block.start)} and {said_clock(block.end)}.", field="at")
    whole = placing_of(block)
    first, second = _halves(whole, at)
    summary = f"Split {_told(block.column.week, whole)} at {written_clock(at)}"
    return edit_block(block, By(member, reason), "split", summary, put=[(block.pk, first), (None, second)])


@in_edit
def remove_block(block: Block, *, member: Member, revision: int, reason: str = "") -> Edit:
    """Take a block out of the week."""
    check_fresh(block, revision)
    summary = f"Removed {_told(block.column.week, placing_of(block))}"
    return edit_block(block, By(member, reason), "remove", summary)


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
