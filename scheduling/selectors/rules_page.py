"""The page of a year's rules: each with what it demands, its source, and how many classrooms meet it."""

from collections.abc import Sequence
from dataclasses import dataclass

from scheduling.minutes.rules import Rule
from scheduling.models.rules import STANDINGS
from scheduling.selectors.ledger import STANDING_TITLES
from scheduling.selectors.rule_outcomes import RoomStanding, failing, standing_said, standings_of
from scheduling.selectors.year_words import RuleWords, year_words
from teamroom.common.wording import full_date
from teamroom.dates.grades import said_grades
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom

STANDING_MEANS = {
    "law": "what the state or the nation requires",
    "district": "what the district asks of its schools",
    "school": "what the school asks of itself",
    "advice": "to fall below it is no breach",
}


@dataclass(frozen=True)
class RuleLine:
    """One rule on the page. `failing` are the classrooms that do not meet it, of those the reader may see."""

    words: RuleWords
    grades: str
    effective: str
    summary: str
    look: str
    failing: Sequence[RoomStanding]
    asked: int

    @property
    def pk(self) -> int:
        return self.words.pk


@dataclass(frozen=True)
class RuleGroup:
    standing: str
    title: str
    means: str
    lines: Sequence[RuleLine]


def rule_groups(year: SchoolYear, rooms: Sequence[Classroom]) -> list[RuleGroup]:
    """All rules of a year by standing; the figures are those of the classrooms given."""
    standings = standings_of(rooms)
    lines: dict[str, list[RuleLine]] = {standing: [] for standing in STANDINGS}
    for words in year_words(year).rules.values():
        lines[words.standing].append(_line(words, standings.get(words.pk, [])))
    return [
        RuleGroup(standing, STANDING_TITLES[standing], STANDING_MEANS[standing], some)
        for standing, some in lines.items()
        if some
    ]


def _line(words: RuleWords, standings: list[RoomStanding]) -> RuleLine:
    short = list(failing(standings))
    look = "met" if standings else "unchecked"
    if short:
        look = next((one.look for one in short if one.look != "advice"), "advice")
    if words.rule.not_checkable:
        look = "unchecked"
    return RuleLine(
        words=words,
        grades=said_grades(words.grades),
        effective=effective_said(words.rule),
        summary=_summary(words, standings),
        look=look,
        failing=short,
        asked=len(standings),
    )


def _summary(words: RuleWords, standings: list[RoomStanding]) -> str:
    if words.rule.not_checkable:
        return "not checkable here"
    if not standings:
        return "asked of no classroom"
    return standing_said([one.status for one in standings]).removesuffix(".").replace(" now", "")


def effective_said(rule: Rule) -> str:
    """`In force from Mon 7 Sep 2026 to ...`; empty for a rule without dates."""
    first, last = rule.effective_from, rule.effective_to
    if first and last:
        return f"In force from {full_date(first)} to {full_date(last)}."
    if first:
        return f"In force from {full_date(first)}."
    return f"In force until {full_date(last)}." if last else ""
