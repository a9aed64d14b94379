"""Rules: their keys, dates and shape, and what their parts name and ask."""

from collections.abc import Iterator
from typing import Any

from scheduling.minutes.definitions import (
    PART_KEYS,
    activities_named,
    day_kinds_named,
    part_faults,
    written_parts,
)
from teamroom.school_file.faults import Fault, Place
from teamroom.school_file.form import Document, Form
from teamroom.school_file.meaning.ground import Ground, date_of, each, said_twice

SHAPES = ("all", "any", "not_checkable")
NO_SHAPE = "This rule asks nothing: give it a part (a pool and a test), all or any of parts, or not_checkable."


def rule_faults(form: Form, ground: Ground) -> Iterator[Fault]:
    rules = form.sound.get("rules")
    yield from said_twice(("rules",), rules, "key", "a rule")
    for n, rule in each(rules):
        place = ("rules", n)
        below = form.below(place)
        yield from _dates(place, rule)
        yield from _shape(place, rule, below)
        body = without_gaps({key: value for key, value in rule.items() if key in PART_KEYS or key in SHAPES[:2]})
        yield from _names(place, rule, ground)
        for where, part in written_parts(body):
            if not _touched(where, below):
                yield from (Fault((*place, *where, *inner), said) for inner, said in part_faults(part))


def without_gaps(body: Document) -> Document:
    """A body in which a malformed part stands as an empty one, so that the others keep their places."""
    return {key: [part or {} for part in value] if key in SHAPES else value for key, value in body.items()}


def _touched(where: Place, below: set[Place]) -> bool:
    """Whether the form already found fault with a part, so that its meaning cannot be judged."""
    if where:
        return any(other[:2] == where for other in below)
    return any(other[:1] not in NAMING for other in below)


NAMING: tuple[Place, ...] = tuple(
    (key,) for key in ("key", "name", "grades", "standing", "citation", "effective", "note")
)


def _dates(place: Place, rule: Document) -> Iterator[Fault]:
    effective = rule.get("effective", {})
    first, last = date_of(effective.get("from")), date_of(effective.get("to"))
    if first and last and first > last:
        yield Fault((*place, "effective", "to"), f"This rule ends on {last}, before it begins on {first}.")


def _shape(place: Place, rule: Document, below: set[Place]) -> Iterator[Fault]:
    shapes: list[str] = [key for key in SHAPES if key in rule]
    shapes += [key for key in PART_KEYS if key in rule][:1]
    if not shapes and not _touched((), below):
        yield Fault(place, NO_SHAPE)
    if len(shapes) > 1:
        kept, other = shapes[:2]
        said = f"A rule is one part, all, any or not_checkable: keep {kept} or {other}."
        yield Fault((*place, other), said)


def _names(place: Place, rule: Document, ground: Ground) -> Iterator[Fault]:
    for shape in ("all", "any"):
        for n, part in each(rule.get(shape)):
            yield from _part_names((*place, shape, n), part, ground)
    yield from _part_names(place, {key: rule[key] for key in PART_KEYS if key in rule}, ground)


def _part_names(place: Place, part: dict[str, Any], ground: Ground) -> Iterator[Fault]:
    tidy = dict(part)
    for key in ("caps", "not_beside"):
        if key in part:
            tidy[key] = [entry or {} for entry in part[key]]
    for inner, activity in activities_named(tidy):
        yield from ground.activities.unknown((*place, *inner), activity)
    for inner, kind in day_kinds_named(tidy):
        yield from ground.kinds.unknown((*place, *inner), kind)
