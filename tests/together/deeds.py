"""A random editor: somebody who sees a team's weeks, decides, and acts a moment later, like anybody at a screen.

What is seen is read without a lock, so by the time of the deed it may be stale: then nothing may happen.
"""

from dataclasses import dataclass
from random import Random

from django.db import transaction
from django.http import Http404

from scheduling.access import block_for_editing, week_for_editing
from scheduling.models import Activity, Block, Week, WeekChange
from scheduling.services import undoing, weeks
from scheduling.services.block_writing import Placing, placing_of
from scheduling.services.week_edits import Edit
from teamroom.common.errors import RuleBroken, Stale
from teamroom.members.models import Member

DAYS = ("mon", "tue", "wed")
FIRST, LAST, GRAIN = 480, 870, 15
REASONS = ("", "", "before the aide leaves", "quiet time after recess")
VERBS = ("add", "add", "change", "change", "change", "move", "move", "split", "remove", "undo", "undo", "redo")


@dataclass(frozen=True)
class Outcome:
    """What came of a deed: `done` with the ids of the records it left, or why nothing was done."""

    verb: str
    came: str
    changes: tuple[int, ...] = ()


class Editor:
    """One person editing the weeks of a team at random."""

    def __init__(self, member: Member, ids: list[int], seed: int) -> None:
        self.member, self.weeks, self.random = member, ids, Random(seed)  # noqa: S311 - chance, no secret
        self.year = Week.objects.select_related("classroom__year").get(pk=ids[0]).classroom.year
        self.activities = list(Activity.objects.filter(year=self.year).values_list("pk", flat=True))
        self.kind = self.year.day_kinds.get(key="regular").pk

    def act(self, verb: str = "") -> Outcome:
        """Do something at random, or a given verb at random. Only faults go up: refusals are outcomes."""
        verb, week = verb or self.random.choice(VERBS), self.random.choice(self.weeks)
        seen = None
        if verb in ("change", "move", "split", "remove"):
            seen = self._look(week)
            if seen is None:
                verb = "add"
        try:
            with transaction.atomic():
                edit = self._do(verb, week, seen)
        except Stale:
            return Outcome(verb, "stale")
        except RuleBroken:
            return Outcome(verb, "refused")
        except Http404:
            return Outcome(verb, "gone")
        return Outcome(verb, "done", _records(edit))

    def _look(self, week: int) -> tuple[int, int] | None:
        """A block and its revision, as somebody's page shows it."""
        seen = list(Block.objects.filter(column__week=week).values_list("pk", "revision").order_by("pk"))
        return self.random.choice(seen) if seen else None

    def _do(self, verb: str, week: int, seen: tuple[int, int] | None) -> Edit:
        by, reason = self.member, self.random.choice(REASONS)
        if seen is None:
            found = week_for_editing(by, week)
            if verb == "undo":
                return undoing.undo(found, member=by)
            if verb == "redo":
                return undoing.redo(found, member=by)
            return weeks.add_block(found, member=by, placing=self._placing(), reason=reason)
        pk, revision = seen
        block = block_for_editing(by, pk)
        if verb == "remove":
            return weeks.remove_block(block, member=by, revision=revision, reason=reason)
        if verb == "split":
            return weeks.split_block(block, member=by, revision=revision, at=block.start + GRAIN, reason=reason)
        if verb == "move":
            day, kind, start, end = self._where()
            return weeks.move_block(block, member=by, revision=revision, day=day, kind=kind, start=start, end=end)
        placing = placing_of(block, **self._altered(block))
        return weeks.change_block(block, member=by, revision=revision, placing=placing, reason=reason)

    def _where(self) -> tuple[str, int, int, int]:
        start = self.random.randrange(FIRST, LAST, GRAIN)
        return self.random.choice(DAYS), self.kind, start, start + GRAIN * self.random.randint(1, 4)

    def _placing(self) -> Placing:
        day, kind, start, end = self._where()
        activity = self.random.choice(self.activities)
        return Placing(day, kind, start, end, activity, self._credits(end - start), self.random.choice(REASONS))

    def _credits(self, length: int) -> tuple[tuple[int, int], ...]:
        if self.random.random() < 0.7:
            return ()
        some = self.random.sample(self.activities, 2)
        return tuple((activity, length // 3) for activity in some)

    def _altered(self, block: Block) -> dict[str, object]:
        if self.random.random() < 0.5:
            return {"activity": self.random.choice(self.activities), "credits": ()}
        end = block.end + self.random.choice((-GRAIN, GRAIN))
        return {"end": end, "credits": self._credits(end - block.start), "why": self.random.choice(REASONS)}


def _records(edit: Edit) -> tuple[int, ...]:
    """The record of an edit, and those of the other weeks that were changed with it."""
    if edit.change.batch is None:
        return (edit.change.pk,)
    return tuple(WeekChange.objects.filter(batch=edit.change.batch).values_list("pk", flat=True).order_by("pk"))
