"""Published caps on a class's size, in words, for the form of a classroom."""

from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal

from scheduling.rule_library.class_sizes import SizeFigure, SizeRule, suggested_caps
from teamroom.common.wording import full_date
from teamroom.dates.models import School
from teamroom.dates.places import state_name

# A city's own agreement beside its state's rules.
ALSO = {"us-ny": (("us-nyc", "New York City alone"),)}

OVER = {
    "class": "one class",
    "core class, per teacher": "one class of a core subject for each teacher",
    "school": "the school",
    "district": "the district",
    "state rule": "the classes its state rule counts",
    "physical education classes": "the physical education classes",
}


@dataclass(frozen=True, slots=True)
class CapLine:
    """One published figure in words; `cap` is the number to take where it bounds a single class."""

    said: str
    source: str
    url: str
    read: str
    note: str
    cap: int | None


@dataclass(frozen=True, slots=True)
class CapSuggestions:
    """What is published for a class of some grades. `place` is the state's name, empty where nobody said it."""

    place: str
    grades: tuple[str, ...]
    lines: tuple[CapLine, ...]


def cap_suggestions(school: School, grades: Collection[str]) -> CapSuggestions:
    """The published caps for a class of these grades where the school is, those that bound it first."""
    key = school.place.lower()
    lines = _lines(key, grades, "")
    for also, only in ALSO.get(key, ()):
        lines += _lines(also, grades, f"{only}: ")
    lines.sort(key=lambda line: line.cap is None)
    return CapSuggestions(state_name(school.place), tuple(grades), tuple(lines))


def _lines(jurisdiction: str, grades: Collection[str], only: str) -> list[CapLine]:
    found = suggested_caps(jurisdiction, grades)
    told = [_line(rule, figure, only) for rule, figure in (*found.maximums, *found.aims, *found.aides)]
    return told + [_told(rule, f"{only}{rule.name}", None) for rule in found.remarks]


def _line(rule: SizeRule, figure: SizeFigure, only: str) -> CapLine:
    pupils, over = _number(figure.pupils), OVER.get(figure.over, figure.over)
    if figure.form == "maximum":
        return _told(rule, f"{only}At most {pupils} in {over}", int(figure.pupils))
    if figure.form == "aide above":
        return _told(rule, f"{only}An aide is owed above {pupils}", None)
    if figure.form == "mean":
        return _told(rule, f"{only}{pupils} on average over {over}", None)
    return _told(rule, f"{only}{pupils} pupils to a teacher over {over}", None)


def _told(rule: SizeRule, said: str, cap: int | None) -> CapLine:
    cited = rule.citation
    return CapLine(said, cited.title, cited.url, full_date(cited.checked), rule.note, cap)


def _number(pupils: Decimal) -> str:
    return f"{pupils.normalize():f}"
