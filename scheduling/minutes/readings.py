"""Readings: what a classroom's plan gives for each rule in each period, and the verdicts."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from hashlib import blake2b

from scheduling.minutes.layout import Piece, by_place, lay_out
from scheduling.minutes.measure import Figures, asked_windows, measure
from scheduling.minutes.plan import ClassroomPlan
from scheduling.minutes.rules import Figure, Part, Rule, Status, spelled
from scheduling.minutes.tally import Credited, Tallies, credited, tally
from scheduling.minutes.year import LikeWindows, Shape, Stretch, Year, changes_by_date


@dataclass(frozen=True, slots=True)
class Reading:
    """One rule's figures for a classroom in one period.

    `part` None is the rule's verdict, which has no window and no figures. `short_windows` and
    `windows` count a part's failing and checked windows; `so_far` belongs to year windows.
    """

    grade: str
    rule: str
    part: int | None
    status: Status
    first: dt.date | None = None
    last: dt.date | None = None
    required: Figure | None = None
    planned: Figure | None = None
    margin: Figure | None = None
    so_far: Figure | None = None
    short_windows: int | None = None
    windows: int | None = None


@dataclass(frozen=True, slots=True)
class Measured:
    """One window of a part with its figures."""

    first: dt.date
    last: dt.date
    figures: Figures
    stretch: Stretch

    @property
    def short(self) -> bool:
        return self.figures.margin < 0


class ClassroomYear:
    """A classroom's plan laid over its year, each sort of day laid out once."""

    def __init__(self, year: Year, plan: ClassroomPlan) -> None:
        self.plan = plan
        self.shape: Shape = year.shape(plan)
        self._tallies: dict[int, tuple[Part, Tallies]] = {}

    @cached_property
    def pieces(self) -> list[tuple[Piece, ...]]:
        """The pieces of each sort of day."""
        versions = sorted(self.plan.versions, key=lambda version: version.starts)
        columns = [by_place(version.columns) for version in versions]
        changes = changes_by_date(self.plan)
        return [
            lay_out(
                columns[sort.version] if sort.version >= 0 else None,
                self.plan.bells,
                changes[sort.changed] if sort.changed else (),
                cycle_day=sort.cycle_day,
                kind=sort.kind,
            )
            for sort in self.shape.sorts
        ]

    @cached_property
    def _credited(self) -> Credited:
        return credited(self.pieces)

    def tallies(self, part: Part) -> Tallies:
        """The part's figures for each sort of day."""
        kept = self._tallies.get(id(part))
        if kept is None:
            # The part is kept beside its tallies, so that its id stays its own.
            kept = self._tallies[id(part)] = (part, tally(part, self.pieces, self._credited))
        return kept[1]

    def fingerprint(self, rule: Rule, part: Part) -> str:
        """What the part's figures follow from, in short: equal fingerprints, equal figures."""
        dates = (str(rule.effective_from), str(rule.effective_to))
        told = repr((self.shape.fingerprint, dates, spelled(part), self.tallies(part))).encode()
        return blake2b(told, digest_size=16).hexdigest()

    def measured(self, rule: Rule, part: Part) -> list[tuple[Figures, LikeWindows]]:
        """The part's like windows that are checked, each with its figures, in order of their earliest."""
        tallies = self.tallies(part)
        return [
            (measure(part, windows, required, tallies), windows)
            for windows, required in asked_windows(self.shape, rule, part)
        ]

    def every_window(self, rule: Rule, part: Part) -> list[Measured]:
        """Each checked window of a part, in order of time."""
        days = self.shape.days
        found = [
            Measured(days[first].date, days[last].date, figures, (first, last))
            for figures, like in self.measured(rule, part)
            for first, last in like.stretches
        ]
        found.sort(key=lambda window: window.first)
        return found

    def so_far(self, part: Part, as_of: dt.date) -> Figure:
        """A year's planned figure over the days strictly before a date."""
        window = self.shape.one_window(part, (0, self.shape.days_before(as_of) - 1))
        return measure(part, window, part.test.figure, self.tallies(part)).planned


@dataclass(frozen=True, slots=True)
class PartResult:
    """A part's worst window, how many fall short, and how many are checked."""

    worst: Figures
    stretch: Stretch
    short_windows: int
    windows: int
    status: Status


def judge(book: ClassroomYear, rule: Rule, part: Part) -> PartResult | None:
    """The part judged over all its windows; None if no window is checked.

    The worst of several equal windows is the earliest.
    """
    worst: Figures | None = None
    stretch: Stretch = (0, 0)
    short = count = 0
    # In order of their earliest, so that of equal margins the first met is the earliest.
    for figures, like in book.measured(rule, part):
        if worst is None or figures.margin < worst.margin:
            worst, stretch = figures, like.stretches[0]
        count += len(like.stretches)
        if figures.margin < 0:
            short += len(like.stretches)
    if worst is None:
        return None
    status: Status = part.test.failing if short else "met"
    return PartResult(worst, stretch, short, count, status)


def verdict(rule: Rule, statuses: Sequence[str]) -> Status:
    """The rule's verdict from its parts': all must be met, or any; else the gravest failing."""
    met = [status == "met" for status in statuses]
    if any(met) if rule.any_of else all(met):
        return "met"
    gravest: tuple[Status, ...] = ("short", "over", "below advice")
    return next(status for status in gravest if status in statuses)


def readings(
    year: Year,
    plan: ClassroomPlan,
    rules: Iterable[Rule],
    *,
    as_of: dt.date | None = None,
    every_window: bool = False,
) -> list[Reading]:
    """A classroom's readings: by grade, rule and part, each rule's verdict after its parts.

    Parts give their worst window, or each window; with `as_of` year windows say what lies
    strictly before it.
    """
    book = ClassroomYear(year, plan)
    rules = list(rules)
    by_rule: dict[str, list[Reading]] = {}
    found: list[Reading] = []
    for grade in plan.grades:
        for rule in rules:
            if grade not in rule.grades:
                continue
            if rule.key not in by_rule:
                by_rule[rule.key] = list(rule_readings(book, rule, grade, as_of=as_of, every_window=every_window))
                found += by_rule[rule.key]
            else:
                found += [_for_grade(reading, grade) for reading in by_rule[rule.key]]
    return found


def _for_grade(reading: Reading, grade: str) -> Reading:
    values = {name: getattr(reading, name) for name in Reading.__slots__}
    return Reading(**{**values, "grade": grade})


def rule_readings(
    book: ClassroomYear, rule: Rule, grade: str, *, as_of: dt.date | None, every_window: bool
) -> Iterator[Reading]:
    """One rule's readings for a grade; none at all if no part has a checked window."""
    if rule.not_checkable:
        yield Reading(grade, rule.key, None, "not checkable")
        return
    statuses: list[Status] = []
    for place, part in enumerate(rule.parts):
        result = judge(book, rule, part)
        if result is None:
            continue
        statuses.append(result.status)
        so_far = None
        if as_of is not None and part.window.kind == "year":
            so_far = book.so_far(part, as_of)
        if every_window:
            yield from _each(book, rule, part, place, grade, so_far)
        else:
            days, (first, last) = book.shape.days, result.stretch
            yield Reading(
                grade,
                rule.key,
                place,
                part.test.failing if result.worst.margin < 0 else "met",
                days[first].date,
                days[last].date,
                *result.worst,
                so_far,
                result.short_windows,
                result.windows,
            )
    if statuses:
        yield Reading(grade, rule.key, None, verdict(rule, statuses))


def _each(
    book: ClassroomYear, rule: Rule, part: Part, place: int, grade: str, so_far: Figure | None
) -> Iterator[Reading]:
    for window in book.every_window(rule, part):
        status: Status = part.test.failing if window.short else "met"
        yield Reading(grade, rule.key, place, status, window.first, window.last, *window.figures, so_far)
