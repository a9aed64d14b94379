"""A random editor: somebody who sees a team's weeks, decides, and acts a moment later, like anybody at a screen.

What is seen is read without a lock, so by the time of the deed it may be stale: then nothing may happen.
"""

import datetime as dt
from dataclasses import dataclass
from random import Random

from django.db import transaction
from django.http import Http404

from scheduling.access import block_for_editing, block_for_sharing, week_for_editing, weeks_for_editing
from scheduling.models import Activity, Block, Week, WeekChange
from scheduling.selectors.team_blocks import ways_into
from scheduling.services import drafts, team_blocks, undoing, weeks
from scheduling.services.block_writing import Placing, placing_of
from scheduling.services.restoring import restore
from scheduling.services.week_edits import Edit
from teamroom.common.errors import RuleBroken, Stale
from teamroom.members.models import Member

DAYS = ("mon", "tue", "wed")
FIRST, LAST, GRAIN = 480, 870, 15
REASONS = ("", "", "before the aide leaves", "quiet time after recess")
OF_BLOCKS = ("change", "move", "split", "remove", "share", "step out")
OF_WEEKS = ("undo", "redo", "restore", "draft", "in effect", "take out")
OFTEN = ("add", "add", "change", "change", "move", "move", "undo", "undo", "share")
VERBS = (*OFTEN, *OF_BLOCKS, *OF_WEEKS)
AGAIN = 0.5
"""How often somebody who has just undone an edit does it again."""
DATES = 4
"""Dates that drafts are prepared for: few, so that some are for the same."""


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
        self.rooms = list(Week.objects.filter(pk__in=ids).order_by("pk").values_list("classroom", flat=True))
        self.activities = list(Activity.objects.filter(year=self.year).values_list("pk", flat=True))
        self._undid = 0
        self.kind = self.year.day_kinds.get(key="regular").pk

    def act(self, verb: str = "") -> Outcome:
        """Do something at random, or a given verb at random. Only faults go up: refusals are outcomes."""
        week = self.random.choice(self.weeks)
        if not verb and self._undid and self.random.random() < AGAIN:
            # A moment later nothing would be left to do again: any fresh edit ends it.
            verb, week = "redo", self._undid
        verb, self._undid = verb or self.random.choice(VERBS), 0
        seen = None
        if verb in OF_BLOCKS:
            seen = self._look(week, together=verb == "step out")
            if seen is None:
                verb = "add"
        try:
            with transaction.atomic():
                edit = self._to_week(verb, week) if seen is None else self._to_block(verb, *seen)
        except Stale:
            return Outcome(verb, "stale")
        except RuleBroken:
            return Outcome(verb, "refused")
        except Http404:
            return Outcome(verb, "gone")
        if verb == "undo":
            self._undid = week
        return Outcome(verb, "done", _records(edit))

    def _look(self, week: int, *, together: bool) -> tuple[int, int] | None:
        """A block and its revision, as somebody's page shows it; one of the team's if that is asked."""
        blocks = Block.objects.filter(column__week=week)
        if together:
            blocks = blocks.filter(together__isnull=False)
        seen = list(blocks.values_list("pk", "revision").order_by("pk"))
        return self.random.choice(seen) if seen else None

    def _to_week(self, verb: str, week: int) -> Edit | None:
        """What is done to a week, or with a draft of it."""
        by = self.member
        if verb in ("undo", "redo"):
            return self._take_back(verb, week)
        if verb in ("in effect", "take out"):
            self._turn(verb, week)
            return None
        found = week_for_editing(by, week)
        if verb == "restore":
            return restore(found, member=by, revision=self.random.randint(1, found.revision))
        if verb == "draft":
            starts = self.year.first_day + dt.timedelta(weeks=self.random.randint(1, DATES))
            drafts.prepare_draft(found, starts=starts, member=by)
            return None
        return weeks.add_block(found, member=by, placing=self._placing(), reason=self.random.choice(REASONS))

    def _take_back(self, verb: str, week: int) -> Edit:
        """Undo or redo in all weeks that the edit seen was made in."""
        by, seen = self.member, Week.objects.get(pk=week)
        latest = undoing.last_to_undo(seen, by) if verb == "undo" else undoing.last_to_redo(seen, by)
        pks = undoing.weeks_of(week, latest.pk, by) if latest else []
        held = weeks_for_editing(by, pks or [week])
        own = next(one for one in held if one.pk == week)
        deed = undoing.undo if verb == "undo" else undoing.redo
        return deed(own, member=by, change=latest.pk if latest else None, held=held)

    def _turn(self, verb: str, week: int) -> None:
        """Put one of the classroom's drafts in effect in the place of what starts with it, or take one out again."""
        beside = Week.objects.filter(classroom__weeks=week, draft=verb == "in effect").exclude(pk__in=self.weeks)
        found = beside.order_by("?" if self.random.random() < 0.5 else "pk").first()
        if found is None:
            raise Http404
        held = week_for_editing(self.member, found.pk)
        if verb == "take out":
            drafts.take_out(held, member=self.member)
        else:
            drafts.put_in_effect(held, seen=drafts.mark_of(held), member=self.member, replace=True)

    def _to_block(self, verb: str, pk: int, revision: int) -> Edit:
        by, reason = self.member, self.random.choice(REASONS)
        if verb == "share":
            return self._share(pk, revision)
        block = block_for_editing(by, pk, alone=verb == "step out")
        if verb == "step out":
            return team_blocks.step_out(block, member=by, revision=revision)
        if verb == "remove":
            return weeks.remove_block(block, member=by, revision=revision, reason=reason)
        if verb == "split":
            return weeks.split_block(block, member=by, revision=revision, at=block.start + GRAIN, reason=reason)
        if verb == "move":
            day, kind, start, end = self._where()
            return weeks.move_block(block, member=by, revision=revision, day=day, kind=kind, start=start, end=end)
        placing = placing_of(block, **self._altered(block))
        return weeks.change_block(block, member=by, revision=revision, placing=placing, reason=reason)

    def _share(self, pk: int, revision: int) -> Edit:
        """Have some classrooms of the team hold a block too, having seen what that does there."""
        rooms = self.random.sample(self.rooms, self.random.randint(1, len(self.rooms)))
        sharing = block_for_sharing(self.member, pk, rooms)
        ways = ways_into(sharing.block, [(week.classroom, week) for week in sharing.weeks])
        seen = [way.token for way in ways]
        return team_blocks.share(sharing, member=self.member, revision=revision, seen=seen)

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


def _records(edit: Edit | None) -> tuple[int, ...]:
    """The record of an edit, and those of the other weeks that were changed with it; of a draft's deeds none."""
    if edit is None:
        return ()
    if edit.change.batch is None:
        return (edit.change.pk,)
    return tuple(WeekChange.objects.filter(batch=edit.change.batch).values_list("pk", flat=True).order_by("pk"))
