"""The rules of two weeks side by side: every part with the figures of each. Rules of two years meet by their keys."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from scheduling.minutes import figures
from scheduling.minutes.rules import Part
from scheduling.selectors.ledger import VERDICT_LOOKS, VERDICT_WORDS, Row, ledger_of
from scheduling.selectors.sides import Side
from scheduling.selectors.year_words import PartWords, RuleWords


@dataclass(frozen=True, slots=True)
class RuleTold:
    """A rule's part; figures are words, `change` the second week's beside the first's."""

    name: str
    period: str
    here: str
    here_look: str
    here_verdict: str
    there: str
    there_look: str
    there_verdict: str
    change: str


@dataclass(frozen=True, slots=True)
class Bound:
    """A rule that binds one of the weeks, with its parts' figures by their places."""

    rule: RuleWords | None
    rows: Mapping[int | None, Row]

    def part(self, place: int) -> PartWords | None:
        return self.rule.parts[place] if self.rule and place in self.rows else None


NOT_BINDING = Bound(None, {})


def rules_told(here: Side, there: Side) -> list[RuleTold]:
    """Every rule that binds one of two weeks, in the first's order, with what each gives for it."""
    left, right = (_by_key(side) for side in (here, there))
    return list(_told(left, right))


def _told(left: Mapping[str, Bound], right: Mapping[str, Bound]) -> Iterator[RuleTold]:
    for key in dict.fromkeys([*left, *right]):
        one, other = left.get(key, NOT_BINDING), right.get(key, NOT_BINDING)
        rules = [bound.rule for bound in (one, other) if bound.rule]
        if any(rule.rule.not_checkable for rule in rules):
            yield RuleTold(rules[0].name, "", *_unchecked(one), *_unchecked(other), "")
        for place in range(max(len(rule.parts) for rule in rules)):
            yield from _part(rules[0].name, place, one, other)


def _part(name: str, place: int, here: Bound, there: Bound) -> Iterator[RuleTold]:
    mine, theirs = here.part(place), there.part(place)
    if mine and theirs and not _alike(mine.part, theirs.part):
        # A rule of one key may ask something else in another year: its figures then have no common measure.
        yield RuleTold(name, mine.period, *_figures(mine, here.rows[place]), *NOTHING, "")
        yield RuleTold(name, theirs.period, *NOTHING, *_figures(theirs, there.rows[place]), "")
        return
    part = mine or theirs
    if part is not None:
        left, right = here.rows.get(place), there.rows.get(place)
        yield RuleTold(name, part.period, *_figures(part, left), *_figures(part, right), _change(part, left, right))


NOTHING = "", "unchecked", "does not apply"


def _alike(one: Part, other: Part) -> bool:
    return (one.test.kind, one.window, one.mean) == (other.test.kind, other.window, other.mean)


def _unchecked(bound: Bound) -> tuple[str, str, str]:
    return ("", "unchecked", VERDICT_WORDS["not checkable"]) if bound.rule else NOTHING


def _by_key(side: Side) -> dict[str, Bound]:
    ledger = ledger_of(side.week.classroom, side.words, would_be=side.readings, grades=side.plan.grades)
    return {
        rule.rule.key: Bound(rule, next(iter(grades.values())))
        for pk, rule in side.words.rules.items()
        if (grades := ledger.rows.get(pk))
    }


def _change(part: PartWords, here: Row | None, there: Row | None) -> str:
    if here is None or there is None or here.planned is None or there.planned is None:
        return ""
    change = figures.change_in_words(part.part, here.planned, there.planned)
    return change.replace(" than before", "") or "the same"


def _figures(part: PartWords, row: Row | None) -> tuple[str, str, str]:
    """`105 min of 90 min`, and how the verdict looks and reads."""
    if row is None or row.planned is None:
        return NOTHING
    required = row.required or 0
    hours = figures.in_hours(row.planned, required)
    planned, needed = (figures.figure_said(part.part, one, hours=hours) for one in (row.planned, required))
    return f"{planned} of {needed}", VERDICT_LOOKS[row.status], VERDICT_WORDS.get(row.status, row.status)
