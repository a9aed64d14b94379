"""What a rule of a record demands, in the words that the ledger uses; and a change of one figure in it."""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from scheduling.minutes.definitions import rule_from
from scheduling.minutes.words import rule_said
from teamroom.trail.reading import Row

# The tests whose figure is minutes; a share or a number of days is said in a whole sentence.
IN_MINUTES = {"at_least": "at least", "at_most": "at most", "recommended": "recommended", "unbroken": "unbroken"}


class Figures(NamedTuple):
    """One figure of minutes that a change changed."""

    what: str
    before: int
    after: int


def demand_said(row: Row, activities: Mapping[str, str], kinds: Mapping[str, str]) -> str:
    """The demand in sentences; '' where the rule says instead why no week can prove it.

    A body that today's words cannot say, written by an older version, is told apart and not left out.
    """
    if not row.get("body"):
        return ""
    try:
        rule = rule_from(row["body"], key=row["key"], grades=frozenset(row["grades"]))
        return str(rule_said(rule, activities, kinds))
    except (KeyError, ValueError, TypeError, AttributeError, StopIteration):
        return "a demand in a form of an earlier version"


def figure_change(before: Row, after: Row) -> Figures | None:
    """The one figure of minutes in which two rules' demands differ; None where they differ otherwise."""
    found = list(_unlike(before.get("body"), after.get("body"), ""))
    if len(found) != 1:
        return None
    key, old, new = found[0]
    if key in IN_MINUTES and isinstance(old, int) and isinstance(new, int):
        return Figures(IN_MINUTES[key], old, new)
    return None


def _unlike(one: Any, other: Any, key: str) -> Iterator[tuple[str, Any, Any]]:
    """Where two bodies differ: the key there, and both values."""
    if isinstance(one, dict) and isinstance(other, dict):
        for each in {*one, *other}:
            yield from _unlike(one.get(each), other.get(each), each)
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        for a, b in zip(one, other, strict=True):
            yield from _unlike(a, b, key)
    elif one != other:
        yield key, one, other
