"""Putting a week back as it was: one edit like others, recorded and undone like them."""

from collections.abc import Mapping, Sequence

from scheduling.models import Week, WeekChange
from scheduling.selectors.year_inputs import year_inputs
from scheduling.services import block_writing as writing
from scheduling.services.block_writing import Snapshot, placing_of
from scheduling.services.week_edits import By, Edit, Put, edit_week, in_edit
from scheduling.week_replay import differing, replayed
from teamroom.common.errors import RuleBroken, Stale
from teamroom.members.models import Member


@in_edit
def restore(week: Week, *, member: Member, revision: int, seen: int | None = None, reason: str = "") -> Edit:
    """Put the week back as it was at a revision, 1 being what it began with.

    Stale if it was edited since the revision `seen`. RuleBroken if it is so already, or if the
    school no longer has something that stood in it then.
    """
    if seen is not None and seen != week.revision:
        raise Stale("Somebody edited the week in the meantime: look at what putting it back does now.")
    if not 1 <= revision <= week.revision:
        raise RuleBroken("The week has no such moment in its history.", field="revision")
    inputs = year_inputs(week.classroom.year)
    was = state_at(week, revision)
    now = state_at(week, week.revision)
    gone, there = differing(now, was)
    if not gone and not there:
        raise RuleBroken("The week is as it was then: there is nothing to put back.")
    standing = writing.standing_blocks(week, list(gone))
    if {pk: writing.snapshot(pk, placing_of(block), inputs) for pk, block in standing.items()} != gone:
        raise RuleBroken(
            "The history does not lead to the week as it is. Tell whoever runs the server; nothing was changed."
        )
    put: list[Put] = [(pk, writing.placing_from(kept, inputs)) for pk, kept in there.items()]
    summary = f"Put back as at edit {revision}" if revision > 1 else "Put back as it began"
    return edit_week(week, By(member, reason), "restore", summary, out=list(standing.values()), put=put)


def state_at(week: Week, revision: int) -> Mapping[int, Snapshot]:
    """The week's blocks as they were at a revision, by id, out of its records."""
    return replayed(records(week, revision))


def records(week: Week, until: int) -> Sequence[tuple[list[Snapshot], list[Snapshot]]]:
    """The records of a week up to a revision, each as the blocks before and after."""
    found = WeekChange.objects.filter(week=week, revision__lte=until).order_by("revision")
    return list(found.values_list("before", "after"))
