"""Taking back one's own last edits of a week, and doing them again.

Each person has a stack of their own: undoing takes back the latest of one's edits that still
stands, redoing takes back the latest undoing, until one edits afresh. Both are edits like others:
the inverse of a record, recorded too. The caller has the week from `access`, locked.
"""

from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from scheduling.models import Block, Week, WeekChange
from scheduling.selectors.year_inputs import YearInputs, year_inputs
from scheduling.services import block_writing as writing
from scheduling.services.block_writing import placing_of
from scheduling.services.week_edits import By, Edit, Put, edit_week, in_edit
from scheduling.week_replay import as_placed
from teamroom.common.clock import said_clock
from teamroom.common.errors import RuleBroken, Stale
from teamroom.members.models import Member

BACK_AND_FORTH = ("undo", "redo")


@in_edit
def undo(week: Week, *, member: Member, change: int | None = None) -> Edit:
    """Take back one's own latest edit that still stands.

    `change` is the id of the edit meant; Stale if it is no longer that one, so that nobody takes
    back what they did not mean. RuleBroken, naming who and what, if somebody has built on it.
    """
    latest = last_to_undo(week, member)
    if latest is None:
        raise RuleBroken("There is nothing of yours left to undo in this week.")
    return _take_back(week, member, latest, change, "undo")


@in_edit
def redo(week: Week, *, member: Member, change: int | None = None) -> Edit:
    """Do again what one's own latest undoing took back; refusals as for `undo`."""
    latest = last_to_redo(week, member)
    if latest is None:
        raise RuleBroken("There is nothing of yours to do again in this week.")
    return _take_back(week, member, latest, change, "redo")


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


def _own(week: Week, member: Member) -> QuerySet[WeekChange]:
    """Newest first; what a week began with (its revision 1) is nobody's edit."""
    return WeekChange.objects.filter(week=week, member=member, revision__gt=1).order_by("-revision")


def _take_back(week: Week, member: Member, latest: WeekChange, meant: int | None, deed: str) -> Edit:
    if meant is not None and meant != latest.pk:
        raise Stale(
            f"Your latest edit is now another: {latest.summary}. Look at the week as it is now, and decide then."
        )
    inputs = year_inputs(week.classroom.year)
    present = _standing_as_left(week, latest, inputs)
    put: list[Put] = [(kept["block"], writing.placing_from(kept, inputs)) for kept in latest.before]
    said = "Undid" if deed == "undo" else "Did again"
    summary = f"{said}: {_origin(latest).summary}"[:200]
    return edit_week(week, By(member), deed, summary, out=list(present.values()), put=put, undoes=latest)


def _origin(change: WeekChange) -> WeekChange:
    """The edit that a chain of undoing and redoing goes back to."""
    while change.undoes is not None:
        change = change.undoes
    return change


def _standing_as_left(week: Week, latest: WeekChange, inputs: YearInputs) -> dict[int, Block]:
    """The blocks an edit left, if all stand as it left them; else RuleBroken naming who changed one."""
    present = writing.standing_blocks(week, [kept["block"] for kept in latest.after])
    for kept in latest.after:
        block = present.get(kept["block"])
        if block is None or writing.snapshot(block.pk, placing_of(block), inputs) != as_placed(kept):
            raise RuleBroken(_changed_since(week, latest, {kept["block"]}))
    return present


def _changed_since(week: Week, latest: WeekChange, blocks: set[int]) -> str:
    later = WeekChange.objects.filter(week=week, revision__gt=latest.revision).order_by("-revision")
    for change in later.select_related("member"):
        if blocks & {kept["block"] for kept in (*change.before, *change.after)}:
            who = change.member.name if change.member else "Somebody"
            made = change.made_at.astimezone(ZoneInfo(week.classroom.year.school.time_zone))
            when = f"{made:%a} {said_clock(made.hour * 60 + made.minute)}"
            return f"This cannot be taken back: {who} has built on it since ({when}: {change.summary})."
    return "This cannot be taken back: the block has changed since."
