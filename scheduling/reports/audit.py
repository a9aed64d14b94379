"""The audit of a year: every reading worked out from the stored weeks, each with its trace."""

import datetime as dt
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from scheduling.minutes.plan import ClassroomPlan
from scheduling.minutes.readings import ClassroomYear, Reading, readings
from scheduling.minutes.rules import Figure, Rule
from scheduling.minutes.trace import Addend, trace_of
from scheduling.selectors.plans import plans_of
from scheduling.selectors.year_inputs import YearInputs, year_inputs
from teamroom.common.clock import written_clock
from teamroom.common.near import did_you_mean, quoted
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom

AT_A_TIME = 100


class UnknownKey(Exception):
    """A rule or classroom the year does not have; the message names the nearest."""


@dataclass(frozen=True)
class Question:
    """What an audit is asked: as of a date, of one rule or all, of one classroom or all, and
    whether each window is wanted or the worst of each part."""

    as_of: dt.date
    rule: str | None = None
    classroom: str | None = None
    every_window: bool = False


@dataclass(frozen=True)
class AuditLine:
    """One reading of one classroom."""

    classroom: str
    reading: Reading
    rule: Rule
    book: ClassroomYear

    def trace(self) -> Sequence[Addend]:
        """The addends of the reading's figure; a verdict has none."""
        reading = self.reading
        if reading.part is None or reading.first is None or reading.last is None:
            return ()
        days = self.book.shape.days
        first, last = (bisect_left(days, date, key=lambda day: day.date) for date in (reading.first, reading.last))
        return trace_of(self.book, self.rule.parts[reading.part], (first, last)).addends


def audit(year: SchoolYear, question: Question) -> Iterator[AuditLine]:
    """A year's readings in order of classroom, its grades, rule, part and window; each rule's
    verdict after its parts. A retired classroom is in it only when asked for by its key.

    Raises UnknownKey before the first line for a rule or classroom the year does not have.
    """
    inputs = year_inputs(year)
    rules = _chosen_rules(inputs, question.rule)
    classrooms = _chosen_classrooms(year, question.classroom)
    return _lines(inputs, rules, classrooms, question)


def _lines(
    inputs: YearInputs, rules: Sequence[Rule], classrooms: Sequence[Classroom], question: Question
) -> Iterator[AuditLine]:
    for start in range(0, len(classrooms), AT_A_TIME):
        some = classrooms[start : start + AT_A_TIME]
        plans = plans_of(inputs, some)
        for classroom in some:
            yield from _classroom_lines(inputs, rules, classroom.key, plans[classroom.pk], question)


def _classroom_lines(
    inputs: YearInputs, rules: Sequence[Rule], key: str, plan: ClassroomPlan, question: Question
) -> Iterator[AuditLine]:
    book = ClassroomYear(inputs.year, plan)
    by_key = {rule.key: rule for rule in rules}
    for reading in readings(inputs.year, plan, rules, as_of=question.as_of, every_window=question.every_window):
        yield AuditLine(key, reading, by_key[reading.rule], book)


def _chosen_rules(inputs: YearInputs, key: str | None) -> list[Rule]:
    rules = list(inputs.rules.values())
    chosen = [rule for rule in rules if key in (None, rule.key)]
    if key is not None and not chosen:
        raise UnknownKey(f"No rule has the key {quoted(key)}: {did_you_mean(key, (rule.key for rule in rules))}")
    return chosen


def _chosen_classrooms(year: SchoolYear, key: str | None) -> list[Classroom]:
    classrooms = list(year.classrooms.order_by("pk"))
    if key is None:
        return [classroom for classroom in classrooms if not classroom.retired]
    chosen = [classroom for classroom in classrooms if classroom.key == key]
    if not chosen:
        near = did_you_mean(key, (classroom.key for classroom in classrooms))
        raise UnknownKey(f"No classroom has the key {quoted(key)}: {near}")
    return chosen


def number(figure: Figure | None) -> int | float | None:
    """A figure as a plain number: whole as an int, any other to two decimals."""
    if figure is None or isinstance(figure, int):
        return figure
    return figure.numerator if figure.denominator == 1 else float(round(Fraction(figure), 2))


def as_json(line: AuditLine, *, every_window: bool) -> dict[str, Any]:
    """A line as the audit's JSON has it, with its trace."""
    reading = line.reading
    window = reading.first and reading.last and {"from": f"{reading.first}", "to": f"{reading.last}"}
    found: dict[str, Any] = {
        "classroom": line.classroom,
        "grade": reading.grade,
        "rule": reading.rule,
        "part": reading.part,
        "window": window or None,
        "required": number(reading.required),
        "planned": number(reading.planned),
        "margin": number(reading.margin),
        "status": reading.status,
        "so_far": number(reading.so_far),
    }
    if not every_window:
        found["short_windows"] = reading.short_windows
    found["trace"] = [addend_as_json(addend) for addend in line.trace()]
    return found


def addend_as_json(addend: Addend) -> dict[str, Any]:
    """An addend, without the pieces that say nothing about it."""
    found = {
        "source": addend.source,
        "activity": addend.activity,
        "minutes": number(addend.minutes),
        "days": addend.days,
        "each": number(addend.each),
        "first": addend.first and f"{addend.first}",
        "cycle_day": addend.cycle_day,
        "kind": addend.kind,
        "start": written_clock(addend.start) if addend.start is not None else None,
        "end": written_clock(addend.end) if addend.end is not None else None,
        "label": addend.label,
        "why": addend.why,
    }
    return {key: value for key, value in found.items() if value not in (None, "")}
