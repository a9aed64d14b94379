"""Taking back one's own last edits of a week, and doing them again.

Each person has a stack of their own: undoing takes back the latest of one's edits that still
stands, redoing takes back the latest undoing, until one edits afresh. Both are edits like others:
the inverse of a record, recorded too. The caller has the week from `access`, locked, and of an
edit of several weeks all of them.
"""

import uuid
from collections.abc import Collection, Sequence
from contextlib import nullcontext

from django.db.models import QuerySet

from scheduling.models import Block, Week, WeekChange
from scheduling.selectors.edit_words import name_said, said_moment, who_said
from scheduling.selectors.year_inputs import year_inputs
from scheduling.selectors.year_words import year_words
from scheduling.services import block_writing as writing
from scheduling.services.block_writing import Placing, placing_of
from scheduling.services.bringing_back import brought_back
from scheduling.services.week_edits import (
    By,
    Edit,
    Put,
    edit_of,
    edit_week,
    follow_up,
    in_edit,
    refused_in,
    write_change,
)
from scheduling.services.week_records import STANDING
from scheduling.week_replay import by_block
from teamroom.common.clock import said_clock
from teamroom.common.errors import RuleBroken, Stale
from teamroom.members.models import Member

BACK_AND_FORTH = ("undo", "redo")
DEEDS_SAID = {"add": "added", "move": "moved", "split": "split", "remove": "removed", "restore": "put back"}


@in_edit
def undo(week: Week, *, member: Member, change: int | None = None, held: Sequence[Week] = ()) -> Edit:
    """Take back one's own latest edit that still stands.

    `change` is the id of the edit meant; Stale if it is no longer that one, so that nobody takes
    back what they did not mean. RuleBroken, naming who and what, if somebody has built on it. An
    edit of several weeks is taken back in all of them, which are `held`, or in none.
    """
    latest = last_to_undo(week, member)
    if latest is None:
        raise RuleBroken("There is nothing of yours left to undo in this week.")
    return _take_back(week, member, latest, change, "undo", held)


@in_edit
def redo(week: Week, *, member: Member, change: int | None = None, held: Sequence[Week] = ()) -> Edit:
    """Do again what one's own latest undoing took back; refusals as for `undo`."""
    latest = last_to_redo(week, member)
    if latest is None:
        raise RuleBroken("There is nothing of yours to do again in this week.")
    return _take_back(week, member, latest, change, "redo", held)


def weeks_of(week: int, change: int, member: Member) -> list[int]:
    """The ids of all weeks that one's edit of a week changed, to be locked before it is taken back;
    none if it changed that week alone."""
    batch = WeekChange.objects.filter(pk=change, week=week, member=member).values_list("batch", flat=True).first()
    if batch is None:
        return []
    return list(WeekChange.objects.filter(batch=batch).order_by("week").values_list("week", flat=True).distinct())


def last_to_undo(week: Week, member: Member) -> WeekChange | None:
    """The edit that `undo` would take back."""
    return _own(week, member).exclude(deed="undo").filter(undone_by=None).first()


def last_to_redo(week: Week, member: Member) -> WeekChange | None:
    """The undoing that `redo` would take back: none once its maker has edited afresh."""
    latest = _own(week, member).filter(deed="undo", undone_by=None).first()
    if latest is None:
        return None
    fresh = _own(week, member).exclude(deed__in=BACK_AND_FORTH).filter(revision__gt=latest.revision)
    return None if fresh.exists() else latest


def own_last_edits(week: Week, member: Member) -> dict[str, WeekChange | None]:
    """What a member can undo and do again, as the pages that offer it name them."""
    return {"undoable": last_to_undo(week, member), "redoable": last_to_redo(week, member)}


def _own(week: Week, member: Member) -> QuerySet[WeekChange]:
    """Newest first; what a week began with (its revision 1), and when it came in effect, is nobody's edit."""
    own = WeekChange.objects.filter(week=week, member=member, revision__gt=1).exclude(deed__in=STANDING)
    return own.order_by("-revision")


def _take_back(
    week: Week, member: Member, latest: WeekChange, meant: int | None, deed: str, held: Sequence[Week]
) -> Edit:
    if meant is not None and meant != latest.pk:
        raise Stale(
            f"Your latest edit is now another: {latest.summary}. Look at the week as it is now, and decide then."
        )
    if latest.batch is not None:
        return _take_back_in_all(week, member, latest, deed, held)
    put, out = inverse_of(week, latest, member)
    return edit_week(week, By(member), deed, _said(latest, deed), out=out, put=put, undoes=latest)


def _take_back_in_all(week: Week, member: Member, latest: WeekChange, deed: str, held: Sequence[Week]) -> Edit:
    """Take back one's edit of several weeks in each of them, or in none."""
    weeks = {one.pk: one for one in (*held, week)}
    parts = list(WeekChange.objects.filter(batch=latest.batch).order_by("week"))
    if {part.week_id for part in parts} - weeks.keys():
        raise Stale("This edit was made in several classrooms. Load the page again, and decide then.")
    by = By(member, batch=uuid.uuid4())
    inverses = []
    for part in parts:
        with refused_in(weeks[part.week_id].classroom) if part.week_id != week.pk else nullcontext():
            inverses.append((part, *inverse_of(weeks[part.week_id], part, member)))
    written = [
        write_change(weeks[part.week_id], by, deed, _said(part, deed), out=out, put=put, undoes=part)
        for part, put, out in inverses
    ]
    touched = [weeks[part.week_id] for part in parts]
    own = next(change for change in written if change.week_id == week.pk)
    return edit_of(own, touched, follow_up(touched))


def inverse_of(week: Week, change: WeekChange, member: Member) -> tuple[list[Put], list[Block]]:
    """What takes an edit back: the blocks to put and those to take out. RuleBroken, naming who and
    what, if the week has changed so that it cannot be."""
    inputs = year_inputs(week.classroom.year)
    left = by_block(change.after)
    present = writing.standing_blocks(week, [*left, *(kept["block"] for kept in change.before)])
    for pk in left.keys() | present.keys():
        block = present.get(pk)
        if block is None or pk not in left or writing.snapshot(pk, placing_of(block), inputs) != left[pk]:
            raise RuleBroken(_changed_since(week, change, pk, member))
    put = brought_back(week, change.before)
    for _, placing in put:
        _check_room(week, placing, present)
    return put, list(present.values())


def _said(change: WeekChange, deed: str) -> str:
    return f"{'Undid' if deed == 'undo' else 'Did again'}: {_origin(change).summary}"[:200]


def _origin(change: WeekChange) -> WeekChange:
    """The edit that a chain of undoing and redoing goes back to."""
    while change.undoes is not None:
        change = change.undoes
    return change


def _check_room(week: Week, placing: Placing, leaving: Collection[int]) -> None:
    there = Block.objects.filter(column__week=week, column__day=placing.day, column__kind=placing.kind)
    other = writing.in_the_way(there, placing, leaving)
    if other is not None:
        times = f"{said_clock(other.start)} to {said_clock(other.end)}"
        raise RuleBroken(f"This cannot be taken back: {other.activity} now takes {times}.")


def _changed_since(week: Week, change: WeekChange, block: int, member: Member) -> str:
    later = WeekChange.objects.filter(week=week, revision__gt=change.revision).order_by("-revision")
    words = year_words(week.classroom.year)
    for other in later.select_related("member"):
        kept = next((kept for kept in (*other.after, *other.before) if kept["block"] == block), None)
        if kept is not None:
            who = "You" if other.member_id == member.pk else who_said(other)
            moment = said_moment(other.made_at, week.classroom.year)
            return (
                f"This cannot be taken back: {who} {DEEDS_SAID.get(other.deed, 'changed')} {name_said(words, kept)} "
                f"on {moment}, after your edit."
            )
    return "This cannot be taken back: the block has changed since."
