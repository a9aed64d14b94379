"""What a change of a year would do to every classroom's readings, before anybody says yes."""

from collections.abc import Iterator, Mapping, Sequence

from scheduling.models import Reading
from scheduling.selectors.ledger import Row, visibly
from scheduling.selectors.plans import plans_from
from scheduling.selectors.preview_words import Change, Preview
from scheduling.services.compliance import (
    AT_A_TIME,
    Place,
    differences,
    place_of,
    stored_readings,
    wanted_readings,
)
from scheduling.services.rehearsal import Deed, Rehearsal, rehearse
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom


def previewed(year: SchoolYear, deed: Deed) -> Preview:
    """What a deed (a call of services that change the year) would change of the readings.

    The deed is done in a transaction that is always rolled back. What it refuses (RuleBroken) goes
    up as it would from the deed itself.
    """
    return preview_of(rehearse(year, deed))


def preview_of(rehearsed: Rehearsal) -> Preview:
    """A rehearsal's outcome against the readings as stored."""
    changes: list[Change] = []
    for start in range(0, len(rehearsed.rooms), AT_A_TIME):
        changes += _changes(rehearsed, rehearsed.rooms[start : start + AT_A_TIME])
    return Preview(
        revision=rehearsed.revision,
        rooms={room.pk: str(room) for room in rehearsed.rooms},
        changes=tuple(changes),
        days_before=rehearsed.before.inputs.year.days,
        days_after=rehearsed.after.inputs.year.days,
        rules={**rehearsed.before.rules, **rehearsed.after.rules},
        kinds={key: name for words in (rehearsed.before, rehearsed.after) for key, name in words.kinds.values()},
    )


def _changes(rehearsed: Rehearsal, rooms: Sequence[Classroom]) -> Iterator[Change]:
    inputs, rules = rehearsed.after.inputs, rehearsed.asked.rules
    plans = plans_from(inputs, rooms, rehearsed.versions, rehearsed.changes)
    stored = stored_readings(rooms, rules)
    for room in rooms:
        wanted = wanted_readings(inputs, room, plans[room.pk], rules, stored[room.pk])
        yield from visible_changes(room.pk, stored[room.pk], wanted)


def visible_changes(room: int, stored: Mapping[Place, Reading], wanted: Mapping[Place, Reading]) -> Iterator[Change]:
    """What shows otherwise in one classroom, with the verdict of each rule of which anything does."""
    found = {
        place_of(row): pair for pair in differences(stored, wanted) if visibly(pair) and (row := pair[1] or pair[0])
    }
    for rule, grade, _ in list(found):
        verdict = (rule, grade, None)
        found.setdefault(verdict, (stored.get(verdict), wanted.get(verdict)))
    for before, after in found.values():
        yield Change(room, _row(before), _row(after))


def _row(reading: Reading | None) -> Row | None:
    return None if reading is None else Row(*(getattr(reading, name) for name in Row._fields))
