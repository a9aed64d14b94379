"""A change of a year worked out before the year is locked, and then written in a moment.

Whoever edits a week waits for a change of the year only while it is written. What was worked out
is checked under the lock: a year that changed meanwhile refuses it, and a classroom whose weeks
changed is worked out anew.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from django.db import transaction

from scheduling.models import Reading, Week
from scheduling.selectors.ledger import Row, visibly
from scheduling.selectors.plans import plans_from, versions_of
from scheduling.selectors.preview_words import Change, Preview
from scheduling.services import staged_readings
from scheduling.services.compliance import (
    Place,
    differences,
    place_of,
    recomputation_put_off,
    recompute,
    stored_readings,
    wanted_readings,
)
from scheduling.services.rehearsal import Deed, Rehearsal, rehearse, together
from teamroom.common.errors import Stale
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom

Done = TypeVar("Done")
Tell = Callable[[int, int], object]
"""Told how many classrooms are worked out, of how many."""
Pair = tuple[Reading | None, Reading | None]
Mark = tuple[tuple[object, ...], ...]
"""Of a classroom what tells one state of its weeks and grades from another."""

AT_A_TIME = 100


@dataclass(frozen=True)
class Prepared:
    """A deed's readings, worked out and not written: `pairs` before and after, `marks` of the
    classrooms they were worked out from."""

    year: SchoolYear
    rehearsed: Rehearsal
    pairs: Sequence[Pair]
    marks: Mapping[int, Mark]
    preview: Preview


def prepare(year: SchoolYear, deed: Deed, *, tell: Tell | None = None, with_weeks: bool = False) -> Prepared:
    """Work out what a deed leads to, a hundred classrooms at a time. It takes no lock for longer than
    the deed itself does. What the deed refuses goes up. Readings of retired classrooms are kept
    current too, and left out of what is shown.

    A deed that changes weeks itself needs `with_weeks`, and then cannot be carried out from here.
    """
    rehearsed = rehearse(year, deed, with_weeks=with_weeks)
    pairs: list[Pair] = []
    marks: dict[int, Mark] = {}
    changes: list[Change] = []
    for start in range(0, len(rehearsed.rooms), AT_A_TIME):
        some = rehearsed.rooms[start : start + AT_A_TIME]
        # Before the weeks are read: one that changes between the two is then worked out anew, never missed.
        marks |= marks_of(some)
        for room, stored, wanted in _worked_out(rehearsed, some):
            pairs += differences(stored, wanted)
            if not room.retired:
                changes += shown(room.pk, differences(stored, wanted), _beside(stored, wanted))
        if tell is not None:
            tell(min(start + AT_A_TIME, len(rehearsed.rooms)), len(rehearsed.rooms))
    return Prepared(year, rehearsed, pairs, marks, _preview(rehearsed, changes))


def carry_out(prepared: Prepared, deed: Callable[[SchoolYear], Done]) -> tuple[Done, int]:
    """Do the deed and write the readings prepared for it, in one transaction; what the deed gives,
    and how many classrooms were worked out anew.

    Raises Stale if the year is no longer as it was when this was prepared.
    """
    with transaction.atomic():
        staged_readings.stage(prepared.pairs)
        year = SchoolYear.objects.select_for_update(of=("self",)).select_related("school").get(pk=prepared.year.pk)
        if year.revision != prepared.rehearsed.revision:
            raise Stale("The school year was changed in the meantime: look at what this does now.")
        with recomputation_put_off() as noted:
            done = deed(year)
        year.refresh_from_db(fields=["revision"])
        asked = together(noted)
        rooms = [
            room for room in year.classrooms.order_by("pk") if asked.classrooms is None or room.pk in asked.classrooms
        ]
        marks = marks_of(rooms)
        anew = [room for room in rooms if marks[room.pk] != prepared.marks.get(room.pk)]
        staged_readings.write(but_for=[room.pk for room in anew])
        recompute(year, classrooms=anew, rules=asked.rules)
    return done, len(anew)


def marks_of(rooms: Collection[Classroom]) -> dict[int, Mark]:
    """Each classroom's mark: its grades, and its weeks with their dates and revisions, which rise with each edit."""
    marks: dict[int, list[tuple[object, ...]]] = defaultdict(list)
    weeks = Week.objects.filter(draft=False, classroom__in=[room.pk for room in rooms]).order_by("pk")
    for classroom, *week in weeks.values_list("classroom_id", "pk", "starts", "revision"):
        marks[classroom].append(tuple(week))
    return {room.pk: (tuple(room.grades), *marks[room.pk]) for room in rooms}


def _worked_out(
    rehearsed: Rehearsal, rooms: Sequence[Classroom]
) -> Iterator[tuple[Classroom, Mapping[Place, Reading], Mapping[Place, Reading]]]:
    """Each classroom's readings as stored and as they are to be."""
    inputs, rules = rehearsed.after.inputs, rehearsed.asked.rules
    versions = rehearsed.versions
    if versions is None:
        versions = versions_of(inputs, [room.pk for room in rooms])
    plans = plans_from(inputs, rooms, versions, rehearsed.changes)
    stored = stored_readings(rooms, rules)
    for room in rooms:
        yield room, stored[room.pk], wanted_readings(inputs, room, plans[room.pk], rules, stored[room.pk])


def _beside(stored: Mapping[Place, Reading], wanted: Mapping[Place, Reading]) -> Callable[[Place], Pair]:
    return lambda place: (stored.get(place), wanted.get(place))


def shown(room: int, pairs: Iterable[Pair], verdict: Callable[[Place], Pair]) -> Iterator[Change]:
    """What of some pairs shows otherwise in a classroom, with the verdict of each rule of which anything does."""
    found = {place_of(row): pair for pair in pairs if visibly(pair) and (row := pair[1] or pair[0]) is not None}
    for rule, grade, _ in list(found):
        place = (rule, grade, None)
        found.setdefault(place, verdict(place))
    for before, after in found.values():
        yield Change(room, _row(before), _row(after))


def _row(reading: Reading | None) -> Row | None:
    return None if reading is None else Row(*(getattr(reading, name) for name in Row._fields))


def _preview(rehearsed: Rehearsal, changes: Sequence[Change]) -> Preview:
    return Preview(
        revision=rehearsed.revision,
        rooms={room.pk: str(room) for room in rehearsed.rooms if not room.retired},
        changes=tuple(changes),
        days_before=rehearsed.before.inputs.year.days,
        days_after=rehearsed.after.inputs.year.days,
        rules={**rehearsed.before.rules, **rehearsed.after.rules},
        kinds={key: name for words in (rehearsed.before, rehearsed.after) for key, name in words.kinds.values()},
    )
