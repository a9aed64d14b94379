"""Putting a week back as it was: one edit like others, recorded and undone like them."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from django.db import transaction

from scheduling.models import Block, Reading, TeamBlock, Week, WeekChange
from scheduling.selectors.history import moment_said
from scheduling.selectors.preview_words import Change
from scheduling.selectors.restore_words import Rehearsed
from scheduling.selectors.year_inputs import year_inputs
from scheduling.services import block_writing as writing
from scheduling.services.block_writing import Placing, placing_of
from scheduling.services.bringing_back import brought_back
from scheduling.services.compliance import ReadingChanges, place_of
from scheduling.services.prepared import shown
from scheduling.services.week_edits import By, Edit, Put, edit_week, in_edit
from scheduling.week_replay import Record, State, by_block, differing, replayed
from teamroom.common.errors import RuleBroken, Stale
from teamroom.members.models import Member


@in_edit
def restore(week: Week, *, member: Member, revision: int, seen: int | None = None, reason: str = "") -> Edit:
    """Put the week back as it was at a revision, 1 being what it began with.

    Stale if it was edited since the revision `seen`. RuleBroken if it is so already, or if the
    school no longer has something that stood in it then. A block that was held with the team is so
    again if the team's is still the same.
    """
    if seen is not None and seen != week.revision:
        raise Stale("Somebody edited the week in the meantime: look at what putting it back does now.")
    if not 1 <= revision <= week.revision:
        raise RuleBroken("The week has no such moment in its history.", field="revision")
    inputs = year_inputs(week.classroom.year)
    now, then = (state_at(week, at) for at in (week.revision, revision))
    gone, there = differing(now, then)
    if not gone and not there:
        raise RuleBroken("The week is as it was then: there is nothing to put back.")
    standing = writing.standing_blocks(week, list(gone))
    if {pk: writing.snapshot(pk, placing_of(block), inputs) for pk, block in standing.items()} != gone:
        raise RuleBroken(
            "The history does not lead to the week as it is. Tell whoever runs the server; nothing was changed."
        )
    put = brought_back(week, there.values())
    summary = f"Put the week back {moment_said(week, revision)}"
    return edit_week(
        week, By(member, reason), "restore", summary, out=list(standing.values()), put=_as_the_team_has_it(week, put)
    )


def rehearse_restoring(week: Week, *, member: Member, revision: int) -> Rehearsed:
    """What `restore` would do, worked out by doing it and taking it back; its refusals go up."""
    seen = week.revision
    try:
        return _rehearsed(week, member, revision)
    finally:
        # The row has it again; the object is to be shown and sent with it.
        week.revision = seen


def _rehearsed(week: Week, member: Member, revision: int) -> Rehearsed:
    seen = week.revision
    with transaction.atomic():
        edit = restore(week, member=member, revision=revision)
        now, then = by_block(edit.change.before), by_block(edit.change.after)
        changes = tuple(_with_verdicts(week, edit.readings))
        transaction.set_rollback(True)
    return Rehearsed(revision, seen, now, then, changes)


def state_at(week: Week, revision: int) -> State:
    """The week's blocks as they were at a revision, by id, out of its records."""
    return replayed(records(week, revision))


def records(week: Week, until: int) -> Sequence[Record]:
    """The records of a week up to a revision, each as the blocks before and after."""
    found = WeekChange.objects.filter(week=week, revision__lte=until).order_by("revision")
    return list(found.values_list("before", "after"))


def _as_the_team_has_it(week: Week, put: Sequence[Put]) -> list[Put]:
    """The blocks to put; those held with the team step out where the team's is gone or another now."""
    wanted = {placing.together for _, placing in put if placing.together is not None}
    if not wanted:
        return list(put)
    present = set(TeamBlock.objects.filter(pk__in=wanted).values_list("pk", flat=True))
    others: Mapping[int | None, list[Placing]] = {pk: [] for pk in present}
    blocks = Block.objects.filter(together__in=present, column__week__draft=week.draft).exclude(column__week=week)
    for block in blocks.select_related("column__kind").prefetch_related("credits", "uses"):
        others[block.together_id].append(placing_of(block, uses=()))

    def fits(placing: Placing) -> bool:
        held = others.get(placing.together, [])
        return bool(held) and all(other == replace(placing, uses=()) for other in held)

    return [
        (pk, placing if placing.together is None or fits(placing) else replace(placing, together=None))
        for pk, placing in put
    ]


def _with_verdicts(week: Week, readings: ReadingChanges) -> Iterator[Change]:
    """What shows otherwise, with the verdicts, which are asked after the deed: those it turned are among the pairs."""
    verdicts = {place_of(row): row for row in Reading.objects.filter(classroom=week.classroom, part=None)}
    return shown(week.classroom_id, readings.pairs, lambda place: (verdicts.get(place), verdicts.get(place)))
