"""Fittings of a week: asked for, worked on in the background, decided about, and taken as a draft.

Nothing of a classroom changes until a way is taken, and then one draft is made that counts for nothing yet. The
caller has the classroom or week from `access`.
"""

import datetime as dt
import logging
import threading
import time
from collections.abc import Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from django.db import connection, transaction
from django.utils import timezone

from scheduling.models import Block, Fitting, Week
from scheduling.refit.fitting import Stop
from scheduling.selectors.fitting_ground import FittingGround
from scheduling.services import block_writing as writing
from scheduling.services.block_writing import Placing, placing_of
from scheduling.services.fitting_work import SECONDS, Way, made_ready, solve
from scheduling.services.queue import TakenOver, claimed
from scheduling.services.week_records import record
from scheduling.services.week_versions import changed
from teamroom.common.errors import RuleBroken
from teamroom.common.nudge import nudge
from teamroom.dates.services import check_in_year
from teamroom.members.models import Classroom, Member

log = logging.getLogger(__name__)
TASK = "scheduling.tasks.do_fittings"
PULSE = 0.5
"""Seconds between looks whether somebody asked the work to stop, and between words that it goes on."""
KEPT = dt.timedelta(days=7)
BREAKS_OFF = (
    "Something went wrong on the way and nothing was changed. Tell whoever runs the server, with the time; the log "
    "has the cause."
)


@transaction.atomic
def ask(
    classroom: Classroom,
    *,
    kind: str,
    starts: dt.date,
    member: Member,
    source: Week | None = None,
    asked: Mapping[str, Any] | None = None,
) -> Fitting:
    """Ask for a fitting. RuleBroken, for the form, if there is nothing to fit or the date is outside the year."""
    check_in_year(classroom.year, starts, field="starts")
    fitting = Fitting(
        classroom=classroom, kind=kind, source=source, starts=starts, asked=dict(asked or {}), asked_by=member
    )
    made_ready(fitting)
    fitting.save()
    nudge(TASK)
    return fitting


def ask_again(fitting: Fitting, *, way: int, decided: Mapping[str, str], member: Member) -> Fitting:
    """The rest fitted anew around what was decided of each change: "stay" keeps it as proposed, "back" puts it as
    the source has it, and nothing lets it move again. What went back before stays so, as it is no change any more.
    RuleBroken if nothing is decided, or the proposal is not there."""
    chosen = _way(fitting, way)
    places: dict[str, Any] = dict(fitting.asked.get("decided", {}))
    for change in chosen["changes"]:
        what = decided.get(change["key"], "")
        places.pop(change["key"], None)
        if what == "stay":
            places[change["key"]] = change["now"]
        elif what == "back":
            places[change["key"]] = change["was"]
    if not places:
        raise RuleBroken("Say of at least one change whether it stays so or goes back: the rest is fitted around it.")
    return ask(
        fitting.classroom,
        kind=fitting.kind,
        source=fitting.source,
        starts=fitting.starts,
        asked={**fitting.asked, "decided": places},
        member=member,
    )


def stop(fitting: Fitting) -> None:
    """End the work with the best found so far. One that still waits is done with nothing found."""
    rows = Fitting.objects.filter(pk=fitting.pk)
    ended = {"state": "refused", "finished_at": timezone.now(), "fault": "It was stopped before it began."}
    if not rows.filter(state="waiting").update(**ended):
        rows.filter(state="working").update(stop_asked=True)


def claim() -> Fitting | None:
    """The next fitting for this worker alone; None if there is none."""
    pk = claimed(Fitting, ways=[])
    if pk is None:
        return None
    related = ("classroom__year__school", "classroom__team", "source__classroom__year__school", "asked_by")
    return Fitting.objects.select_related(*related).get(pk=pk)


def do(fitting: Fitting, *, seconds: float = SECONDS) -> Fitting:
    """Work a fitting out and finish its row. Raises TakenOver if another worker claimed the row meanwhile."""
    asked = Stop()
    last = [0.0]

    def tell(ways: list[Way]) -> None:
        if time.monotonic() - last[0] >= PULSE:
            last[0] = time.monotonic()
            _mine(fitting).update(ways=ways)

    try:
        work = made_ready(fitting)
        with _pulse(fitting, asked):
            ways, lacking = solve(work, tell=tell, stop=asked, seconds=seconds)
    except RuleBroken as broken:
        return _finish(fitting, state="refused", fault=broken.message[:500])
    except Exception:
        log.exception("A fitting of %s broke off", fitting.classroom)
        return _finish(fitting, state="refused", fault=BREAKS_OFF)
    outcome = {**fitting.asked, "lacking": lacking, "left_behind": list(work.source.unknown), "given": work.given}
    return _finish(fitting, state="done", ways=ways, asked=outcome)


@contextmanager
def _pulse(fitting: Fitting, asked: Stop) -> Any:
    """Meanwhile says that the work goes on, and listens whether it is to stop."""
    done = threading.Event()

    def beat() -> None:
        try:
            while not done.wait(PULSE):
                told = _mine(fitting).update(heard_at=timezone.now())
                if not told or Fitting.objects.filter(pk=fitting.pk, stop_asked=True).exists():
                    asked.ask()
        finally:
            connection.close()

    thread = threading.Thread(target=beat, daemon=True)
    thread.start()
    try:
        yield
    finally:
        done.set()
        thread.join()


def _mine(fitting: Fitting) -> Any:
    """The row, as long as this worker has it."""
    return Fitting.objects.filter(pk=fitting.pk, state="working", started_at=fitting.started_at)


def _finish(fitting: Fitting, **found: Any) -> Fitting:
    found["finished_at"] = timezone.now()
    if not _mine(fitting).update(**found):
        raise TakenOver
    for name, value in found.items():
        setattr(fitting, name, value)
    return fitting


@transaction.atomic(savepoint=False)
def take(fitting: Fitting, *, way: int, member: Member, name: str = "") -> Week:
    """Make a draft of the classroom's week from a way that was found; the source stays as it is.

    Reasons come along, marked with whose they are; what a block needs of what classes share too. Blocks of the own
    week that stand as before keep all they had. RuleBroken if the way, or an activity or kind of day in it, is no more.
    """
    chosen = _way(fitting, way)
    ground = FittingGround(fitting.classroom, fitting.starts)
    blocks = {block.pk: block for block in _blocks(chosen)}
    draft = Week(
        classroom=fitting.classroom, starts=fitting.starts, draft=True, draft_name=name.strip(), drafted_by=member
    )
    draft.save()
    placings = [_placing(one, chosen["days"], blocks, ground, fitting) for one in chosen["blocks"]]
    columns = {}
    for day, kind in chosen["days"]:
        kinds = {key: pk for pk, key in ground.words.inputs.day_kinds.items()}
        if kind not in kinds:
            raise RuleBroken(f"The school year has no days “{kind}” any more: fit the week anew.")
        columns[day, kinds[kind]], _ = writing.column_for(draft, day, kinds[kind])
    for placing in placings:
        writing.check_placing(draft, placing, ground.words.inputs)
        writing.put_block(columns[placing.day, placing.kind], placing, pk=None, revision=1)
    record([draft], "fit", _summary(fitting), member=member)
    changed(fitting.classroom, counts=False)
    return draft


def clear_old() -> None:
    """Fittings of a week ago go: what was taken of them is a draft, and the rest can be asked for anew."""
    Fitting.objects.filter(asked_at__lt=timezone.now() - KEPT).delete()


def _way(fitting: Fitting, number: int) -> Way:
    if fitting.state != "done" or not 0 <= number < len(fitting.ways):
        raise RuleBroken("This proposal is not there any more: fit the week anew.")
    way: Way = fitting.ways[number]
    return way


def _blocks(way: Way) -> Sequence[Block]:
    pks = [one["block"] for one in way["blocks"] if one["block"] is not None]
    blocks = Block.objects.filter(pk__in=pks).select_related("column__week__classroom", "column__kind")
    return list(blocks.prefetch_related("credits", "uses__resource"))


def _placing(
    one: Mapping[str, Any],
    days: Sequence[Sequence[str]],
    blocks: Mapping[int, Block],
    ground: FittingGround,
    fitting: Fitting,
) -> Placing:
    number, start, end = one["place"]
    day, kind_key = days[number]
    inputs = ground.words.inputs
    kinds = {key: pk for pk, key in inputs.day_kinds.items()}
    activities = {key: pk for pk, key in inputs.activities.items()}
    keys = [one["activity"], *(key for key, _ in one["credits"])]
    gone = [key for key in keys if key not in activities]
    if gone or kind_key not in kinds:
        raise RuleBroken(f"The school year has no “{(gone or [kind_key])[0]}” any more: fit the week anew.")
    placing = Placing(
        day,
        kinds[kind_key],
        start,
        end,
        activities[one["activity"]],
        tuple((activities[key], minutes) for key, minutes in one["credits"]),
    )
    block = blocks.get(one["block"])
    return placing if block is None else _with_what_it_had(placing, block, ground, fitting.classroom)


def _with_what_it_had(placing: Placing, block: Block, ground: FittingGround, classroom: Classroom) -> Placing:
    """A placing with the reason and needs of the block it comes from; as it was if it stands where it stood."""
    owner = block.column.week.classroom
    if owner == classroom:
        kept = placing_of(block)
        same = (kept.day, kept.kind, kept.start, kept.end) == (placing.day, placing.kind, placing.start, placing.end)
        where = {"day": placing.day, "kind": placing.kind, "start": placing.start, "end": placing.end}
        return replace(kept, **where, together=kept.together if same else None)  # type: ignore[arg-type]  # as Placing has them
    resources = {key: pk for pk, key in ground.words.inputs.resources.items()}
    amounts = {use.resource.key: use.amount for use in block.uses.all()}
    uses = tuple(sorted((resources[key], amount) for key, amount in amounts.items() if key in resources))
    return replace(placing, why=of_whom(block.why, owner), uses=uses)


def of_whom(why: str, owner: Classroom) -> str:
    """A reason marked with the class whose it is; one that is marked already keeps its mark."""
    if not why or why.startswith("From "):
        return why
    year = f" {owner.year.name}" if owner.year.name not in str(owner) else ""
    return f"From {owner}{year}: {why}"


def _summary(fitting: Fitting) -> str:
    if fitting.kind == "draft" or fitting.source is None:
        return "Drafted from bells and rules"
    if fitting.kind == "mend":
        return "Mended where it was short"
    return f"Taken over from {fitting.source.classroom}"
