"""A change of a year tried out and taken back: what it would be worked out from, nothing written.

The year is locked only while the deed writes and its calendar, bells and rules are read; the
engine's work comes after that, while everybody goes on editing.
"""

import uuid
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.db import transaction

from scheduling.minutes.plan import DayChange, Version
from scheduling.selectors.plans import changes_of, versions_of
from scheduling.selectors.year_inputs import load_year_inputs
from scheduling.selectors.year_words import YearWords, load_year_words, year_words
from scheduling.services.compliance import Asked, recomputation_put_off
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom

Deed = Callable[[], object]


@dataclass(frozen=True)
class Rehearsal:
    """What the readings would follow from after a deed. `revision` is the year's before it;
    `asked` the readings it can touch; `versions` is None where weeks were left to be read later."""

    revision: uuid.UUID
    before: YearWords
    after: YearWords
    asked: Asked
    rooms: Sequence[Classroom]
    changes: Mapping[int, Sequence[DayChange]]
    versions: Mapping[int, Sequence[Version]] | None


def rehearse(year: SchoolYear, deed: Deed, *, with_weeks: bool = True) -> Rehearsal:
    """Do a deed, read what it leads to, and take it back; what the deed refuses goes up.

    `with_weeks=False` is for deeds that change no week: the lock is then held for a moment only,
    however many classrooms there are.
    """
    with transaction.atomic():
        # Locked before it is read, so that the revision is the one the deed starts from.
        held = SchoolYear.objects.select_for_update(of=("self",)).select_related("school").get(pk=year.pk)
        revision, before = held.revision, year_words(held)
        with recomputation_put_off() as noted:
            deed()
        # Not the kept ones: a revision that is taken back would push out others.
        now = SchoolYear.objects.get(pk=year.pk)
        after = load_year_words(now, load_year_inputs(now))
        asked = together(noted)
        rooms = _rooms(now, asked)
        ids = [room.pk for room in rooms]
        rehearsed = Rehearsal(
            revision=revision,
            before=before,
            after=after,
            asked=asked,
            rooms=rooms,
            changes=changes_of(after.inputs, ids),
            versions=versions_of(after.inputs, ids) if with_weeks else None,
        )
        transaction.set_rollback(True)
    return rehearsed


def together(noted: Iterable[Asked]) -> Asked:
    """Everything that any of several recomputations was asked for."""
    rooms: set[int] = set()
    rules: set[int] = set()
    all_rooms = all_rules = False
    for asked in noted:
        all_rooms |= asked.classrooms is None
        all_rules |= asked.rules is None
        rooms |= asked.classrooms or frozenset()
        rules |= asked.rules or frozenset()
    return Asked(None if all_rooms else frozenset(rooms), None if all_rules else frozenset(rules))


def _rooms(year: SchoolYear, asked: Asked) -> list[Classroom]:
    rooms = year.classrooms.order_by("pk")
    return list(rooms if asked.classrooms is None else rooms.filter(pk__in=asked.classrooms))
