"""The library of published rules as a year sees it: what each rule says, and what the year has of it already."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from scheduling.minutes.definitions import rule_from
from scheduling.minutes.words import RuleSaid, rule_said
from scheduling.models import Rule
from scheduling.rule_library.library import Jurisdiction, LibraryRule, activity_names, jurisdictions
from scheduling.selectors.ledger import STANDING_TITLES
from scheduling.selectors.rules_page import effective_said
from scheduling.selectors.year_words import YearWords
from teamroom.common.wording import full_date
from teamroom.dates.grades import said_grades
from teamroom.dates.models import School, SchoolYear

SECTIONS = ("for your grades", "for special cases", "not in force in this year", "for other grades")
KINDS = {"regular": "Regular day"}


@dataclass(frozen=True)
class LibraryLine:
    """One published rule. `offered` says whether it is ticked at first; `state` what the year has of it."""

    rule: LibraryRule
    said: RuleSaid
    grades: str
    standing: str
    effective: str
    checked: str
    state: str
    offered: bool

    @property
    def url(self) -> str:
        return self.rule.citation.url if self.rule.citation.url.startswith(("https://", "http://")) else ""


@dataclass(frozen=True)
class LibrarySection:
    """Rules that a year looks at in the same way. `first` are those most schools of the place want."""

    title: str
    first: bool
    lines: Sequence[LibraryLine]


@dataclass(frozen=True)
class LibraryPage:
    """A jurisdiction's rules in sections: the general ones for the year's grades before all others."""

    place: Jurisdiction
    sections: Sequence[LibrarySection]

    @property
    def offered(self) -> list[str]:
        return [line.rule.key for section in self.sections for line in section.lines if section.first and line.offered]


@dataclass(frozen=True, slots=True)
class NameLine:
    """An activity the library speaks of, and the school's own for it ('' where it has none that seems to fit)."""

    key: str
    name: str
    school: str
    same: bool


def place_choices() -> list[tuple[str, str]]:
    """Every jurisdiction that has rules, by name."""
    return sorted(((key, place.name) for key, place in jurisdictions().items()), key=lambda pair: pair[1])


def place_for(school: School, asked: str) -> Jurisdiction | None:
    """The jurisdiction asked for, else the school's own; None where neither has rules."""
    return jurisdictions().get(asked) or (None if asked else jurisdictions().get(school.place.lower()))


def library_page(year: SchoolYear, place: Jurisdiction, grades: Collection[str]) -> LibraryPage:
    """The rules of a jurisdiction, for a year whose grades these are; one query."""
    keys = [rule.key for rule in place.rules]
    there = dict(Rule.objects.filter(year=year, key__in=keys).values_list("key", "grades"))
    sorted_out: dict[str, list[LibraryLine]] = {title: [] for title in SECTIONS}
    for rule in place.rules:
        sorted_out[_section(year, rule, there, grades)].append(_line(year, rule, there, grades))
    sections = [LibrarySection(title, title == SECTIONS[0], lines) for title, lines in sorted_out.items()]
    return LibraryPage(place, [section for section in sections if section.lines or section.first])


def _section(year: SchoolYear, rule: LibraryRule, there: Collection[str], grades: Collection[str]) -> str:
    general, special, expired, others = SECTIONS
    if grades and not set(rule.grades) & set(grades):
        return others
    if rule.key in there:
        return general
    if not rule.in_force_between(year.first_day, year.last_day):
        return expired
    return special if rule.only_if else general


def _line(year: SchoolYear, rule: LibraryRule, there: Mapping[str, list[str]], grades: Collection[str]) -> LibraryLine:
    written = rule_from(
        rule.body,
        key=rule.key,
        grades=frozenset(rule.grades),
        effective_from=rule.effective_from,
        effective_to=rule.effective_to,
        not_checkable=rule.not_checkable,
    )
    in_force = rule.in_force_between(year.first_day, year.last_day)
    missing = [grade for grade in rule.grades if grade in grades and grade not in there.get(rule.key, ())]
    state = ""
    if rule.key in there:
        state = f"yours already, but not for {said_grades(missing)}" if missing else "yours already"
    elif not in_force:
        state = "not in force in this year"
    return LibraryLine(
        rule=rule,
        said=rule_said(written, activity_names(), KINDS),
        grades=said_grades(rule.grades),
        standing=STANDING_TITLES[rule.standing],
        effective=effective_said(written),
        checked=full_date(rule.citation.checked),
        state=state,
        offered=not rule.only_if and in_force and (rule.key not in there or bool(missing)),
    )


def name_lines(place: Jurisdiction, words: YearWords) -> list[NameLine]:
    """Every activity of the jurisdiction's rules, with the school's own of the same key or name."""
    named = {activity for rule in place.rules for activity in rule.activities}
    by_name = {activity.name.casefold(): key for key, activity in words.by_key.items()}
    found = []
    for key, name in activity_names().items():
        if key in named:
            same = key in words.by_key
            found.append(NameLine(key, name, key if same else by_name.get(name.casefold(), ""), same))
    return found
