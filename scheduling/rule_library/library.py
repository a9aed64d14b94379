"""Reads the library of published rules into plain values.

A rule's body is written exactly as a school file writes one; what it means is in
`scheduling.minutes.definitions`.
"""

import datetime as dt
import json
from collections.abc import Collection, Mapping
from copy import deepcopy
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

from scheduling.minutes.definitions import activities_named

Written = Mapping[str, Any]
Standing = Literal["law", "district", "school", "advice"]
OnDays = Literal["every day", "every kind but regular"]

FOLDER = Path(__file__).parent
RULES = FOLDER / "rules"


class UnknownJurisdiction(LookupError):
    """No rules are kept for a jurisdiction; the message names those that have some."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Citation:
    """Where a rule stands and when its figure was last read. `url` is empty where none was given."""

    title: str
    url: str
    checked: dt.date


@dataclass(frozen=True, slots=True, kw_only=True)
class LibraryRule:
    """One published rule for some grades.

    `ids` are the published requirements it expresses: several rules share one where its figures
    differ by grade. `only_if` names the special case a rule is for (empty: it is for everybody).
    `on_days` other than every day asks for the school's own day kinds, which no library can know.
    `body` is empty exactly where `not_checkable` says why a week cannot prove the rule.
    """

    key: str
    ids: tuple[str, ...]
    jurisdiction: str
    name: str
    grades: tuple[str, ...]
    standing: Standing
    citation: Citation
    read_in: str
    effective_from: dt.date | None
    effective_to: dt.date | None
    only_if: str
    on_days: OnDays
    not_checkable: str
    body: Written
    remark: str

    @property
    def note(self) -> str:
        """What counts, what is approximate or not modelled, and where the figure was read."""
        read = f"Read in a stored copy ({self.read_in}): re-check it against the official text."
        condition = f"Only for: {self.only_if}." if self.only_if else ""
        return " ".join(filter(None, (condition, self.remark, read)))

    @property
    def activities(self) -> frozenset[str]:
        """Every activity the rule speaks of, also those it leaves out."""
        return frozenset(activity for _, activity in activities_named(self.body))

    def in_force_between(self, first: dt.date, last: dt.date) -> bool:
        """Whether any date from first to last lies within the rule's dates, all ends included."""
        return (self.effective_from is None or self.effective_from <= last) and (
            self.effective_to is None or first <= self.effective_to
        )

    def as_school_file(self) -> dict[str, Any]:
        """The rule as a school file writes it, for all its grades."""
        written: dict[str, Any] = {
            "key": self.key,
            "name": self.name,
            "grades": list(self.grades),
            "standing": self.standing,
            "citation": {"title": self.citation.title, "checked": self.citation.checked.isoformat()},
            "note": self.note,
            **deepcopy(dict(self.body)),
        }
        if self.citation.url:
            written["citation"]["url"] = self.citation.url
        dates = {"from": self.effective_from, "to": self.effective_to}
        if effective := {end: date.isoformat() for end, date in dates.items() if date}:
            written["effective"] = effective
        if self.not_checkable:
            written["not_checkable"] = self.not_checkable
        return written


@dataclass(frozen=True, slots=True, kw_only=True)
class Jurisdiction:
    """A state or city and its rules, in the order of its file."""

    key: str
    name: str
    rules: tuple[LibraryRule, ...]


@cache
def jurisdictions() -> Mapping[str, Jurisdiction]:
    """Every jurisdiction by its key, such as `us-ca`, in the order of the keys."""
    files = (_read(path) for path in sorted(RULES.glob("*.json")))
    return {written["jurisdiction"]: _jurisdiction(written) for written in files}


def jurisdiction(key: str) -> Jurisdiction:
    """One jurisdiction. Raises UnknownJurisdiction."""
    known = jurisdictions()
    if key not in known:
        raise UnknownJurisdiction(f"No rules are kept for {key!r}. There are rules for: {', '.join(known)}.")
    return known[key]


def all_rules() -> tuple[LibraryRule, ...]:
    return tuple(rule for place in jurisdictions().values() for rule in place.rules)


@cache
def activity_names() -> Mapping[str, str]:
    """The activities the library's rules speak of: key to name, subjects first."""
    return {activity["key"]: activity["name"] for activity in _read(FOLDER / "activities.json")["activities"]}


def renamed(body: Written, names: Mapping[str, str]) -> dict[str, Any]:
    """A body with its activities called by other keys; those without an entry keep theirs.

    Where two become one, a pool names it once and a cap or neighbour is not repeated.
    """
    new: dict[str, Any] = {}
    for key, value in body.items():
        if key in ("all", "any"):
            new[key] = [renamed(part, names) for part in value]
        elif key == "pool":
            new[key] = _renamed_pool(value, names)
        elif key == "share":
            new[key] = {**value, "of": _renamed_pool(value["of"], names)}
        elif key in ("caps", "not_beside"):
            new[key] = _each_once(_renamed_pair(entry, names) for entry in value)
        else:
            new[key] = deepcopy(value)
    return new


def on_day_kinds(body: Written, kinds: Collection[str]) -> dict[str, Any]:
    """A body each part of which looks at days of these kinds only."""
    for join in ("all", "any"):
        if join in body:
            return {join: [on_day_kinds(part, kinds) for part in body[join]]}
    return {**deepcopy(dict(body)), "day_kinds": sorted(kinds)}


def _renamed_pool(pool: Written, names: Mapping[str, str]) -> dict[str, Any]:
    return {word: _each_once(names.get(activity, activity) for activity in listed) for word, listed in pool.items()}


def _renamed_pair(entry: Written, names: Mapping[str, str]) -> dict[str, Any]:
    return {word: names.get(value, value) if word in ("activity", "beside") else value for word, value in entry.items()}


def _each_once(entries: Any) -> list[Any]:
    kept: list[Any] = []
    for entry in entries:
        if entry not in kept:
            kept.append(entry)
    return kept


def _jurisdiction(written: Written) -> Jurisdiction:
    key, checked = written["jurisdiction"], dt.date.fromisoformat(written["checked"])
    return Jurisdiction(
        key=key, name=written["name"], rules=tuple(_rule(rule, key, checked) for rule in written["rules"])
    )


def _rule(written: Written, place: str, checked: dt.date) -> LibraryRule:
    cited, effective = written["citation"], written.get("effective", {})
    return LibraryRule(
        key=written["key"],
        ids=(written["id"], *written.get("also", ())),
        jurisdiction=place,
        name=written["name"],
        grades=tuple(written["grades"]),
        standing=written["standing"],
        citation=Citation(title=cited["title"], url=cited.get("url", ""), checked=checked),
        read_in=written["read_in"],
        effective_from=_date(effective.get("from")),
        effective_to=_date(effective.get("to")),
        only_if=written.get("only_if", ""),
        on_days=written.get("on_days", "every day"),
        not_checkable=written.get("not_checkable", ""),
        body=written.get("body", {}),
        remark=written.get("note", ""),
    )


def _date(text: str | None) -> dt.date | None:
    return dt.date.fromisoformat(text) if text else None


def _read(path: Path) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return read
