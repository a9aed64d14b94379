"""Published class-size caps, and which of them a class of some grades should look at."""

import datetime as dt
import json
from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Literal

from scheduling.rule_library.library import FOLDER, Citation

Form = Literal["maximum", "mean", "ratio", "aide above"]


@dataclass(frozen=True, slots=True)
class SizeFigure:
    """A number of pupils (not always whole: 29.9) and what it is taken over, such as a class or a district.

    Only a `maximum` bounds one class; a mean or ratio is judged over many, and `aide above` asks
    for an aide when the class is larger.
    """

    form: Form
    pupils: Decimal
    over: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeRule:
    """A published cap for some grades. Without figures it is a rule of counting or grouping, told in its note."""

    key: str
    id: str
    jurisdiction: str
    name: str
    grades: tuple[str, ...]
    citation: Citation
    read_in: str
    figures: tuple[SizeFigure, ...]
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SuggestedCaps:
    """What the published caps say to one class.

    `cap` is the smallest maximum among its grades, None where no maximum is published. `aims` are
    the means and ratios, judged over more than this class; `aides` the sizes above which an aide
    is owed; `remarks` the rules without a figure.
    """

    cap: int | None
    maximums: tuple[tuple[SizeRule, SizeFigure], ...]
    aims: tuple[tuple[SizeRule, SizeFigure], ...]
    aides: tuple[tuple[SizeRule, SizeFigure], ...]
    remarks: tuple[SizeRule, ...]


def suggested_caps(jurisdiction: str, grades: Collection[str]) -> SuggestedCaps:
    """The published caps of a jurisdiction for a class of these grades, the smallest first.

    A combination class answers to the caps of each of its grades, so the stricter governs.
    """
    mine = [rule for rule in size_rules() if rule.jurisdiction == jurisdiction and set(grades) & set(rule.grades)]
    found = sorted(
        ((rule, figure) for rule in mine for figure in rule.figures), key=lambda pair: (pair[1].pupils, pair[0].key)
    )
    maximums = tuple(pair for pair in found if pair[1].form == "maximum")
    return SuggestedCaps(
        cap=int(maximums[0][1].pupils) if maximums else None,
        maximums=maximums,
        aims=tuple(pair for pair in found if pair[1].form in ("mean", "ratio")),
        aides=tuple(pair for pair in found if pair[1].form == "aide above"),
        remarks=tuple(rule for rule in mine if not rule.figures),
    )


@cache
def size_rules() -> tuple[SizeRule, ...]:
    """Every published cap, in the order of the file."""
    written = json.loads((FOLDER / "class_sizes.json").read_text(encoding="utf-8"))
    checked = dt.date.fromisoformat(written["checked"])
    return tuple(
        SizeRule(
            key=entry["key"],
            id=entry["id"],
            jurisdiction=entry["jurisdiction"],
            name=entry["name"],
            grades=tuple(entry["grades"]),
            citation=Citation(title=entry["citation"]["title"], url=entry["citation"].get("url", ""), checked=checked),
            read_in=entry["read_in"],
            figures=tuple(
                SizeFigure(figure["form"], Decimal(figure["pupils"]), figure["over"]) for figure in entry["figures"]
            ),
            note=entry.get("note", ""),
        )
        for entry in written["sizes"]
    )
