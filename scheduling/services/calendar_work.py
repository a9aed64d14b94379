"""Deeds of the calendar that somebody asked for: tried out, said yes to, done, and taken back.

Each is a row. What a small school asks is done in the answer itself; what a big one asks waits for
the background work, which takes rows up by a conditional update and says how far it is. A row is
finished in the very transaction that does its deed, so it is done once or not at all, however
often it is taken up.
"""

import datetime as dt
import time
import uuid
from dataclasses import asdict
from typing import Any

from django.db import transaction
from django.utils import timezone

from scheduling.models import CalendarWork
from scheduling.selectors.preview_words import preview_told
from scheduling.services.deeds import Deed, deed_from, deed_written
from scheduling.services.prepared import Prepared, carry_out, prepare
from scheduling.services.queue import TakenOver, claimed
from scheduling.services.rehearsal import rehearse
from teamroom.common.errors import RuleBroken, Stale
from teamroom.common.nudge import nudge
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Member

MOST_AT_ONCE = 150
"""Up to how many classrooms a deed is worked out in the answer itself: half a second where it was measured."""
TASK = "scheduling.tasks.do_calendar_work"
PREVIEWS_KEPT = dt.timedelta(days=1)


def try_out(year: SchoolYear, deed: Deed, member: Member) -> CalendarWork:
    """A preview of a deed: worked out at once, or in the background for a big school.

    RuleBroken at once, for the form, if the deed is refused.
    """
    work = _asked(year, deed, member, preview=True)
    if not is_big(year):
        return do(work)
    rehearse(year, lambda: deed.do(year), with_weeks=False)
    return _queued(work)


def say_yes(preview: CalendarWork, member: Member) -> CalendarWork:
    """Do what was previewed. RuleBroken if it was not; Stale if something changed in between, for
    a small school also if only what comes of it did."""
    if preview.state != "done" or not preview.asked["preview"] or preview.outcome is None:
        raise RuleBroken("Look at what it does first.")
    told = preview.outcome["told"]
    deed = deed_from(preview.asked["deed"])
    return _act(preview.year, deed, member, revision=told["revision"], seal=told["seal"])


def take_back(done: CalendarWork, member: Member) -> CalendarWork:
    """Undo a deed that was done. Stale if the year was changed since: then it is tried out first."""
    if done.state != "done" or done.outcome is None or "undo" not in done.outcome:
        raise RuleBroken("There is nothing to take back here.")
    return _act(done.year, deed_from(done.outcome["undo"]), member, revision=done.outcome["revision"], seal="")


def is_big(year: SchoolYear) -> bool:
    """Whether a year has too many classrooms for one answer."""
    return year.classrooms.count() > MOST_AT_ONCE


def _act(year: SchoolYear, deed: Deed, member: Member, *, revision: str, seal: str) -> CalendarWork:
    work = _asked(year, deed, member, preview=False, revision=revision, seal=seal)
    year.refresh_from_db(fields=["revision"])
    if str(year.revision) != revision:
        raise Stale("The school year was changed in the meantime: look at what this does now.")
    return _queued(work) if is_big(year) else do(work)


def _asked(year: SchoolYear, deed: Deed, member: Member | None, **more: Any) -> CalendarWork:
    return CalendarWork(year=year, asked={"deed": deed_written(deed), **more}, asked_by=member)


def _queued(work: CalendarWork) -> CalendarWork:
    work.classrooms = work.year.classrooms.count()
    work.save()
    nudge(TASK)
    return work


def claim() -> CalendarWork | None:
    """The next row that waits, or whose worker is not heard from, for this worker alone; None if there is none."""
    pk = claimed(CalendarWork, classrooms_done=0)
    return None if pk is None else CalendarWork.objects.select_related("year__school", "asked_by").get(pk=pk)


def do(work: CalendarWork) -> CalendarWork:
    """Do what a row asks and finish the row. In the background a refusal is its outcome; in an
    answer, where the row is not written yet, it goes up and there is none.

    Raises TakenOver, with nothing changed, if another worker claimed the row meanwhile.
    """
    try:
        return _done(work)
    except RuleBroken as broken:
        if work.pk is None:
            raise
        _finish(work, state="refused", fault=broken.message[:500])
        return work


def _done(work: CalendarWork) -> CalendarWork:
    begun = time.monotonic()
    deed, year = deed_from(work.asked["deed"]), work.year
    try:
        prepared = prepare(year, lambda: deed.do(year), tell=lambda done, of: _tell(work, done, of))
    except RuleBroken as broken:
        _blame_what_came_between(work, broken)
        raise
    told = asdict(preview_told(prepared.preview, year))
    if work.asked["preview"]:
        _finish(work, state="done", outcome={"told": told, "seconds": time.monotonic() - begun})
        return work
    _hold_to_preview(work, prepared)
    with transaction.atomic():
        undo, anew = carry_out(prepared, deed.do)
        year.refresh_from_db(fields=["revision"])
        outcome = {
            "told": told,
            "undo": deed_written(undo),
            "revision": str(year.revision),
            "as_previewed": not anew and work.asked["seal"] in ("", prepared.preview.seal),
            "seconds": time.monotonic() - begun,
        }
        _finish(work, state="done", outcome=outcome)
    return work


def _hold_to_preview(work: CalendarWork, prepared: Prepared) -> None:
    """A small school gets exactly what was shown. In a big one somebody always edits a week, so there
    the deed is held to the year alone, and the outcome says that figures differ."""
    revision, seal = work.asked["revision"], work.asked["seal"]
    other = seal and seal != prepared.preview.seal and work.pk is None
    if str(prepared.preview.revision) != revision or other:
        raise Stale("Something was changed in the meantime: look at what this does now.")


def _blame_what_came_between(work: CalendarWork, broken: RuleBroken) -> None:
    """Stale, if what was said yes to is refused because somebody else changed the year first."""
    work.year.refresh_from_db(fields=["revision"])
    if not work.asked["preview"] and str(work.year.revision) != work.asked["revision"]:
        raise Stale("The school year was changed in the meantime: look at what this does now.") from broken


def _tell(work: CalendarWork, done: int, of: int) -> None:
    """Say how far it is, to be seen at once: outside any transaction."""
    work.classrooms, work.classrooms_done = of, done
    if work.pk is None:
        return
    told = {"classrooms_done": done, "classrooms": of, "heard_at": timezone.now()}
    if not CalendarWork.objects.filter(pk=work.pk, state="working", started_at=work.started_at).update(**told):
        raise TakenOver


def _finish(work: CalendarWork, *, state: str, outcome: dict[str, Any] | None = None, fault: str = "") -> None:
    found = {"state": state, "outcome": outcome, "fault": fault, "finished_at": timezone.now()}
    for name, value in found.items():
        setattr(work, name, value)
    if work.pk is None:
        work.save()
        return
    mine = CalendarWork.objects.filter(pk=work.pk, started_at=work.started_at).exclude(state__in=["done", "refused"])
    if not mine.update(**found):
        raise TakenOver


def clear_previews() -> None:
    """Previews that nobody said yes to in a day go."""
    CalendarWork.objects.filter(asked__preview=True, asked_at__lt=timezone.now() - PREVIEWS_KEPT).delete()


def ask_together(asked: list[tuple[SchoolYear, Deed]], member: Member, *, preview: bool) -> uuid.UUID:
    """Deeds of several schools as one batch, for the background work, however small the schools."""
    batch = uuid.uuid4()
    CalendarWork.objects.bulk_create(
        CalendarWork(
            year=year,
            batch=batch,
            asked={"deed": deed_written(deed), "preview": preview, "revision": str(year.revision), "seal": ""},
            asked_by=member,
            classrooms=year.classrooms.count(),
        )
        for year, deed in asked
    )
    # One for each, as several workers may share them; a worker that finds none is done at once.
    for _ in asked:
        nudge(TASK)
    return batch
