"""Readings kept current: recomputed in the transaction of the change that can touch them.

Every service that changes a week, a date, a day change, a bell schedule or a rule calls
`recompute` with the classrooms (and rules) its change can touch, and no others.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from hashlib import blake2b

from django.db import transaction

from scheduling.minutes.plan import ClassroomPlan
from scheduling.minutes.readings import ClassroomYear, PartResult, judge, verdict
from scheduling.minutes.rules import Part, Rule
from scheduling.models import Reading
from scheduling.models.readings import FIGURES
from scheduling.selectors.plans import plans_of
from scheduling.selectors.year_inputs import YearInputs, load_year_inputs, year_inputs
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom

AT_A_TIME = 250
KEPT = (*FIGURES, "fingerprint")

Place = tuple[int, str, int | None]
"""A reading's place in its classroom: rule id, grade, part."""


@dataclass
class ReadingChanges:
    """What a recomputation changed: pairs of the reading before and after, None where there is none."""

    pairs: list[tuple[Reading | None, Reading | None]] = field(default_factory=list)

    def __bool__(self) -> bool:
        return bool(self.pairs)

    def of(self, classroom: int) -> "ReadingChanges":
        """What it changed in one classroom."""
        return ReadingChanges([(b, a) for b, a in self.pairs if (row := a or b) and row.classroom_id == classroom])


@dataclass(frozen=True, slots=True)
class Asked:
    """Which readings a change can touch: of these classrooms and rules, by id; None means all."""

    classrooms: frozenset[int] | None
    rules: frozenset[int] | None


_put_off: ContextVar[list[Asked] | None] = ContextVar("recomputations put off", default=None)


@contextmanager
def recomputation_put_off() -> Iterator[list[Asked]]:
    """Inside, `recompute` works nothing out and writes nothing: it only notes what it was asked.

    For rehearsals, and for whoever works the readings out beforehand. Who opens it answers for the
    readings.
    """
    asked: list[Asked] = []
    before = _put_off.set(asked)
    try:
        yield asked
    finally:
        _put_off.reset(before)


def place_of(reading: Reading) -> Place:
    return reading.rule_id, reading.grade, reading.part


@transaction.atomic(savepoint=False)
def recompute(
    year: SchoolYear,
    *,
    classrooms: Iterable[Classroom] | None = None,
    rules: Collection[int] | None = None,
    from_scratch: bool = False,
) -> ReadingChanges:
    """Bring the readings of a year's classrooms (all, unless given) up to date.

    `rules` are ids of the only rules that can have changed. A part whose fingerprint is as stored
    keeps its figures; `from_scratch` trusts nothing stored. `year` must be held by the
    transaction, and its rows as they will be committed.
    """
    if (noted := _put_off.get()) is not None:
        rooms = None if classrooms is None else frozenset(room.pk for room in classrooms)
        noted.append(Asked(rooms, None if rules is None else frozenset(rules)))
        return ReadingChanges()
    inputs = load_year_inputs(year) if from_scratch else year_inputs(year)
    chosen = list(year.classrooms.order_by("pk") if classrooms is None else classrooms)
    changes = ReadingChanges()
    for start in range(0, len(chosen), AT_A_TIME):
        some = chosen[start : start + AT_A_TIME]
        stored = stored_readings(some, rules)
        plans = plans_of(inputs, some)
        for classroom in some:
            wanted = wanted_readings(
                inputs, classroom, plans[classroom.pk], rules, {} if from_scratch else stored[classroom.pk]
            )
            changes.pairs += differences(stored[classroom.pk], wanted)
    _write(changes)
    return changes


def stored_readings(
    classrooms: Sequence[Classroom], rules: Collection[int] | None
) -> Mapping[int, dict[Place, Reading]]:
    rows = Reading.objects.filter(classroom__in=classrooms)
    if rules is not None:
        rows = rows.filter(rule__in=rules)
    stored: dict[int, dict[Place, Reading]] = defaultdict(dict)
    for row in rows:
        stored[row.classroom_id][place_of(row)] = row
    return stored


def wanted_readings(
    inputs: YearInputs,
    classroom: Classroom,
    plan: ClassroomPlan,
    rules: Collection[int] | None,
    stored: Mapping[Place, Reading],
) -> dict[Place, Reading]:
    book = ClassroomYear(inputs.year, plan)
    wanted: dict[Place, Reading] = {}
    for grade in plan.grades:
        for pk, rule in inputs.rules_for(grade):
            if rules is None or pk in rules:
                for reading in _rule_rows(book, rule, pk, grade, stored):
                    reading.classroom_id = classroom.pk
                    wanted[place_of(reading)] = reading
    return wanted


def _rule_rows(
    book: ClassroomYear, rule: Rule, pk: int, grade: str, stored: Mapping[Place, Reading]
) -> Iterator[Reading]:
    if rule.not_checkable:
        yield Reading(
            rule_id=pk, grade=grade, part=None, status="not checkable", fingerprint=_short(rule.not_checkable)
        )
        return
    rows: list[Reading] = []
    for place, part in enumerate(rule.parts):
        fingerprint = book.fingerprint(rule, part)
        kept = stored.get((pk, grade, place))
        if kept is not None and kept.fingerprint == fingerprint:
            rows.append(kept)
            continue
        result = judge(book, rule, part)
        if result is not None:
            row = Reading(rule_id=pk, grade=grade, part=place, fingerprint=fingerprint)
            rows.append(_filled(row, book, part, result))
    yield from rows
    if rows:
        yield Reading(
            rule_id=pk,
            grade=grade,
            part=None,
            status=verdict(rule, [row.status for row in rows]),
            fingerprint=_short("".join(row.fingerprint for row in rows)),
        )


def _filled(row: Reading, book: ClassroomYear, part: Part, result: PartResult) -> Reading:
    days, (first, last) = book.shape.days, result.stretch
    row.status = result.status
    row.first, row.last = days[first].date, days[last].date
    row.required, row.planned, row.margin = result.worst
    row.short_windows, row.windows = result.short_windows, result.windows
    return row


def _short(text: str) -> str:
    return blake2b(text.encode(), digest_size=16).hexdigest()


def differences(
    stored: Mapping[Place, Reading], wanted: Mapping[Place, Reading]
) -> Iterator[tuple[Reading | None, Reading | None]]:
    for place, reading in wanted.items():
        before = stored.get(place)
        if before is reading:
            continue
        if before is not None and before.fingerprint == reading.fingerprint and before.shows_as(reading):
            continue
        yield before, reading
    for place, reading in stored.items():
        if place not in wanted:
            yield reading, None


def _write(changes: ReadingChanges) -> None:
    written = [after for _, after in changes.pairs if after is not None]
    removed = [before.pk for before, after in changes.pairs if before is not None and after is None]
    if removed:
        Reading.objects.filter(pk__in=removed).delete()
    if written:
        Reading.objects.bulk_create(
            written,
            batch_size=2000,
            update_conflicts=True,
            unique_fields=["classroom", "rule", "grade", "part"],
            update_fields=KEPT,
        )
