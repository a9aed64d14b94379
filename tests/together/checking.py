"""What must hold of a team's weeks, whoever edited them and however it ended. No service is asked for it."""

from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from django.db import transaction

from scheduling.models import Block, Week, WeekChange
from scheduling.services.compliance import recompute
from scheduling.services.week_records import STANDING
from teamroom.common.live.models import Topic
from teamroom.dates.models import SchoolYear

State = dict[int, dict[str, Any]]


def faults(year: SchoolYear) -> list[str]:
    """Everything that is wrong with a year's weeks, in words; nothing if all is right."""
    found = [fault for week in Week.objects.filter(classroom__year=year).order_by("pk") for fault in _of_week(week)]
    found += _of_team_blocks(year)
    with transaction.atomic():
        changed = recompute(SchoolYear.objects.get(pk=year.pk), from_scratch=True).pairs
        found += [f"a reading of {after or before} is not as from scratch" for before, after in changed]
        transaction.set_rollback(True)
    return found


def _of_week(week: Week) -> Iterator[str]:
    changes = list(WeekChange.objects.filter(week=week).order_by("revision"))
    revisions = [change.revision for change in changes]
    first = 1 if revisions[:1] == [1] else 2
    if revisions != list(range(first, week.revision + 1)):
        yield f"week {week.pk} is at revision {week.revision}, its records at {revisions}"
    replayed: State = {}
    latest: dict[int, int] = {}
    for change in changes:
        yield from _replay(change, replayed)
        latest |= {kept["block"]: change.revision for kept in change.after}
    present = standing(week)
    if replayed != present:
        yield f"week {week.pk}: its records give {replayed}, but it is {present}"
    for pk, revision in Block.objects.filter(column__week=week).values_list("pk", "revision"):
        if latest.get(pk) != revision:
            yield f"block {pk} is at revision {revision}, its latest record at {latest.get(pk)}"
    yield from _overlaps(week, present)


def _replay(change: WeekChange, state: State) -> Iterator[str]:
    """Apply a record. What it says stood before must be what stood: else somebody was overwritten unseen."""
    for kept in change.before:
        held = state.pop(kept["block"], None)
        if held != _bare(kept):
            yield f"record {change.pk} found {_bare(kept)}, but {held} stood there"
    for kept in change.after:
        if kept["block"] in state:
            yield f"record {change.pk} puts block {kept['block']} where it already was"
        state[kept["block"]] = _bare(kept)


def _bare(kept: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in kept.items() if name != "new_column"}


def standing(week: Week) -> State:
    """The week's blocks as rows have them, in the words of the records."""
    state: State = {}
    blocks = Block.objects.filter(column__week=week).select_related("column__kind", "activity")
    for block in blocks.prefetch_related("credits__activity", "uses__resource"):
        state[block.pk] = {
            "block": block.pk,
            "day": block.column.day,
            "kind": block.column.kind.key,
            "start": block.start,
            "end": block.end,
            "activity": block.activity.key,
            "credits": [[credit.activity.key, credit.minutes] for credit in block.credits.all()],
            "why": block.why,
        }
        if block.uses.all():
            uses = sorted(block.uses.all(), key=lambda use: use.resource_id)
            state[block.pk]["uses"] = [[use.resource.key, use.amount] for use in uses]
        if block.together_id is not None:
            state[block.pk]["together"] = block.together_id
    return state


def _overlaps(week: Week, state: State) -> Iterator[str]:
    taken: dict[tuple[str, str, int], int] = {}
    for pk, kept in state.items():
        for minute in range(kept["start"], kept["end"]):
            other = taken.setdefault((kept["day"], kept["kind"], minute), pk)
            if other != pk:
                yield f"week {week.pk}: blocks {other} and {pk} both take minute {minute} of {kept['day']}"
                break


def _of_team_blocks(year: SchoolYear) -> Iterator[str]:
    """Blocks held in common are the same in every classroom, in the weeks that hold at the same time."""
    shared: dict[tuple[int, object, bool], dict[int, tuple[object, ...]]] = defaultdict(dict)
    blocks = Block.objects.filter(together__team__year=year).select_related("column__kind", "column__week", "activity")
    for block in blocks.prefetch_related("credits"):
        credits = tuple((credit.activity_id, credit.minutes) for credit in block.credits.all())
        told = (block.column.day, block.column.kind_id, block.start, block.end, block.activity_id, credits, block.why)
        week = block.column.week
        shared[block.together_id or 0, week.starts, week.draft][block.pk] = told
    for (together, starts, _), held in shared.items():
        if len(set(held.values())) > 1:
            yield f"team block {together} of the weeks from {starts} differs: {held}"


def editions_agree(year: SchoolYear) -> list[str]:
    """Each classroom's topic was raised as often as its weeks were changed at least."""
    found = []
    for classroom in year.classrooms.all():
        edits = WeekChange.objects.filter(week__classroom=classroom, revision__gt=1)
        # One deed takes a week out and puts another in its place, and says so once.
        changes = edits.exclude(deed__in=STANDING).count()
        topic = Topic.objects.filter(name=f"classroom-{classroom.pk}").first()
        if (topic.edition if topic else 0) < changes:
            found.append(f"{classroom}: {changes} changes, its topic at {topic}")
    return found
