"""The ledger in the sheet's margin: what a classroom's plan gives for every rule, as stored."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from scheduling.minutes import figures
from scheduling.minutes.rules import Figure
from scheduling.models import Reading
from scheduling.models.rules import STANDINGS
from scheduling.selectors.year_words import PartWords, RuleWords, YearWords
from teamroom.members.models import Classroom

STANDING_TITLES = {"law": "Law", "district": "District", "school": "School", "advice": "Advice"}
VERDICT_LOOKS = {
    "met": "met",
    "short": "short",
    "over": "over",
    "below advice": "advice",
    "not checkable": "unchecked",
}
VERDICT_WORDS = {"not checkable": "not checkable here"}


class Row(NamedTuple):
    """A reading as the ledger needs it."""

    rule_id: int
    grade: str
    part: int | None
    status: str
    first: dt.date | None
    last: dt.date | None
    required: Figure | None
    planned: Figure | None
    margin: Figure | None
    short_windows: int | None
    windows: int | None


Rows = Mapping[int, Mapping[str, Mapping[int | None, Row]]]
"""A classroom's readings by rule, grade and part."""
Before = Mapping[tuple[int, int | None], Reading | None]
"""What stood before an edit, by rule and part."""
Pair = tuple[Reading | None, Reading | None]
"""A reading before and after an edit."""


@dataclass(frozen=True, slots=True)
class Line:
    """A part's figures. `reach` and `mark` place the bar's end and the requirement, in percent."""

    place: int
    period: str
    planned: str
    required: str
    margin: str
    look: str
    window: str
    windows: str
    since: str
    reach: float
    mark: float
    at_most: bool
    first: str
    told: str


@dataclass(frozen=True, slots=True)
class Entry:
    """A rule in the ledger with its verdict. `because` says why it cannot be checked."""

    pk: int
    name: str
    grades: str
    governs: bool
    look: str
    verdict: str
    because: str
    lines: tuple[Line, ...]
    any_of: bool
    changed: bool


@dataclass(frozen=True, slots=True)
class Group:
    standing: str
    title: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True)
class Ledger:
    """All rules of a classroom by standing, and how many of the checkable ones are met. Rules are
    put in words when asked for, as an edit's answer shows only those that changed."""

    words: YearWords
    rows: Rows
    before: Before
    governing: frozenset[int]
    combination: bool

    @cached_property
    def _verdicts(self) -> list[str]:
        return [_verdict(by_grade) for pk, by_grade in self.rows.items() if pk in self.words.rules]

    @property
    def unchecked(self) -> int:
        return self._verdicts.count("not checkable")

    @property
    def summary(self) -> str:
        return summary_said(self._verdicts.count("met"), len(self._verdicts) - self.unchecked)

    @property
    def groups(self) -> Iterator[Group]:
        for standing in STANDINGS:
            held = self.of_rules({pk for pk in self.rows if self._standing(pk) == standing})
            if held:
                yield Group(standing, STANDING_TITLES[standing], tuple(held))

    @property
    def missed(self) -> list[Entry]:
        """The rules whose verdict is short or over."""
        return [entry for group in self.groups for entry in group.entries if entry.look in ("short", "over")]

    def _standing(self, pk: int) -> str:
        return self.words.rules[pk].standing if pk in self.words.rules else ""

    def of_rules(self, rules: Collection[int]) -> list[Entry]:
        """Some rules in the school's order."""
        return [
            _entry(
                self.words.rules[pk],
                self.rows[pk],
                self.before,
                combination=self.combination,
                governs=pk in self.governing,
            )
            for pk in sorted(rules)
            if pk in self.rows and pk in self.words.rules
        ]


def summary_said(met: int, checked: int) -> str:
    """`meets 11 of 12 rules`."""
    if not checked:
        return "no rule to meet"
    return f"meets {met} of {checked} rule{'' if checked == 1 else 's'}"


def ledger_of(
    classroom: Classroom,
    words: YearWords,
    *,
    changes: Sequence[Pair] = (),
    would_be: Iterable[Reading] | None = None,
    grades: Sequence[str] = (),
) -> Ledger:
    """The classroom's ledger in one query; `changes` are what the last edit changed, `would_be` readings
    to show in place of those that are, by the rules of `grades` if not of the classroom's own."""
    found: dict[int, dict[str, dict[int | None, Row]]] = {}
    rows: Iterable[Row]
    if would_be is None:
        rows = map(Row._make, Reading.objects.filter(classroom=classroom).values_list(*Row._fields))
    else:
        rows = (Row(*(getattr(reading, name) for name in Row._fields)) for reading in would_be)
    for row in rows:
        found.setdefault(row.rule_id, {}).setdefault(row.grade, {})[row.part] = row
    combination = len(grades or classroom.grades) > 1
    return Ledger(
        words=words,
        rows=found,
        before=_before(filter(visibly, changes)),
        governing=_governing(found, words) if combination else frozenset(),
        combination=combination,
    )


def _verdict(by_grade: Mapping[str, Mapping[int | None, Row]]) -> str:
    parts = next(iter(by_grade.values()))
    return parts[None].status if None in parts else "met"


def visibly(pair: Pair) -> bool:
    """Whether what changed of a reading is to be seen: its figures, and not only what they rest on."""
    before, after = pair
    if before is None or after is None:
        return True
    return not before.shows_as(after)


def _before(changes: Iterable[Pair]) -> Before:
    return {
        (reading.rule_id, reading.part): before for before, after in changes if (reading := after or before) is not None
    }


def _entry(
    rule: RuleWords,
    by_grade: Mapping[str, Mapping[int | None, Row]],
    before: Before,
    *,
    combination: bool,
    governs: bool,
) -> Entry:
    """One rule. Both grades of a combination class share its figures, so they are told once."""
    parts, verdict = next(iter(by_grade.values())), _verdict(by_grade)
    lines = tuple(_line(part, parts[part.place], before, verdict) for part in rule.parts if part.place in parts)
    return Entry(
        pk=rule.pk,
        name=rule.name,
        grades=f"grade{'s' if len(by_grade) > 1 else ''} {figures.listed(sorted(by_grade))}" if combination else "",
        governs=governs,
        look=VERDICT_LOOKS[verdict],
        verdict=VERDICT_WORDS.get(verdict, verdict),
        because=rule.rule.not_checkable,
        lines=lines,
        any_of=rule.rule.any_of and len(lines) > 1,
        changed=any((rule.pk, place) in before for place in parts),
    )


def _line(words: PartWords, row: Row, before: Before, verdict: str) -> Line:
    part = words.part
    planned, required, margin = (_figure(value) for value in (row.planned, row.required, row.margin))
    hours = figures.in_hours(planned, required)
    assert row.first is not None and row.last is not None  # noqa: S101 - a part's reading has a window
    old = before.get((row.rule_id, row.part))
    since = ""
    if old is not None and old.planned is not None and (old.first, old.last) == (row.first, row.last):
        since = figures.change_in_words(part, _figure(old.planned), planned)
    elif old is not None:
        since = "another window is now the tightest"
    window = figures.window_said(part, row.first, row.last)
    most = max(planned, required) or 1
    return Line(
        place=words.place,
        period=words.period,
        planned=figures.figure_said(part, planned, hours=hours),
        required=figures.figure_said(part, required, hours=hours),
        margin=figures.margin_said(part, margin),
        # Where one part of several is enough and one is met, another that falls short is no failing.
        look="spare" if verdict == "met" and row.status != "met" else VERDICT_LOOKS[row.status],
        window="" if part.window.kind == "year" else window,
        windows=figures.windows_said(part, row.short_windows or 0, row.windows or 0),
        since=since,
        reach=round(float(Fraction(planned) / most) * 100, 1),
        mark=round(float(Fraction(required) / most) * 100, 1),
        at_most=part.test.kind == "at_most",
        first=row.first.isoformat(),
        told=f"{words.period}, {window}",
    )


def _figure(value: Figure | None) -> Figure:
    return 0 if value is None else value


def _governing(found: Rows, words: YearWords) -> frozenset[int]:
    """Which rule governs where the two grades of a combination class have rules for the same thing.

    Rules are for the same thing if they make the same tests over the same windows and share a name
    or a pool; the one with the smallest margin is the stricter.
    """
    alike: dict[object, dict[int, Figure]] = defaultdict(dict)
    for pk, by_grade in found.items():
        rule = words.rules.get(pk)
        margins = [row.margin for row in next(iter(by_grade.values())).values() if row.margin is not None]
        if rule is None or len(by_grade) > 1 or not margins:
            continue
        tests = tuple((p.part.test.kind, p.part.window, p.part.mean) for p in rule.parts)
        for thing in (rule.name, tuple(p.part.pool for p in rule.parts)):
            alike[thing, tests][pk] = min(margins)
    return frozenset(min(some, key=lambda pk: some[pk]) for some in alike.values() if len(some) > 1)
