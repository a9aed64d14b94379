"""A document held against the schema, each fault as a plain sentence, and what is left sound.

What is malformed is taken out of a copy, so that the checks of meaning can go on with the rest and
never say again what the form already said.
"""

import json
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from importlib.resources import files
from typing import Any

from jsonschema import Draft202012Validator, FormatChecker, ValidationError, validators

from teamroom.common.iso_dates import is_date
from teamroom.common.near import did_you_mean
from teamroom.school_file.faults import Fault, Place, shown

Document = dict[str, Any]

NAMED_TYPES = {
    "object": "an object in { }",
    "string": "text in quotes",
    "boolean": "true or false",
}
MISCHOSEN = {
    "a cap": "A cap gives at_most (minutes) or at_most_share (a fraction), and only one of them.",
    "a column": "A column needs a day, a kind, or both.",
}
TAKEN_OUT = {"type", "enum", "const", "pattern", "format", "minLength", "maxLength", "minimum", "maximum", "maxItems"}


@dataclass(frozen=True)
class Form:
    """The faults of form; the places they stand at; the document without what is malformed."""

    faults: list[Fault]
    places: frozenset[Place]
    sound: Document

    def below(self, entry: Place) -> set[Place]:
        """Where faults stand inside an entry of a top-level list, seen from that entry."""
        return self._by_entry.get(entry, set())

    @cached_property
    def _by_entry(self) -> dict[Place, set[Place]]:
        found: dict[Place, set[Place]] = {}
        for place in self.places:
            found.setdefault(place[:2], set()).add(place[2:])
        return found


@cache
def schema() -> Document:
    """The schema of school files, as it ships."""
    found: Document = json.loads((files("teamroom.school_file") / "schema.json").read_text(encoding="utf-8"))
    return found


def held_to_form(document: Document) -> Form:
    """Every fault of form in a document, in order of the file."""
    faults: dict[Place, str] = {}
    taken_out: list[Place] = []
    for error in _validator().iter_errors(document):
        place: Place = tuple(error.absolute_path)
        for fault, malformed in _translated(error, place):
            faults.setdefault(fault.place, fault.sentence)
            if malformed:
                taken_out.append(fault.place)
    found = [Fault(place, sentence) for place, sentence in faults.items()]
    return Form(found, frozenset(faults), _without(document, taken_out))


@cache
def _validator() -> Draft202012Validator:
    checker = FormatChecker(formats=())
    checker.checks("date")(lambda value: not isinstance(value, str) or is_date(value))
    checker.checks("date or nothing")(lambda value: not isinstance(value, str) or value == "" or is_date(value))
    # 200.0 counts as an integer to JSON Schema, but figures here are exact.
    types = Draft202012Validator.TYPE_CHECKER.redefine("integer", lambda _, value: type(value) is int)
    extend: Callable[..., Any] = validators.extend
    kind = extend(Draft202012Validator, {"pattern": _pattern}, type_checker=types)
    found: Draft202012Validator = kind(schema(), format_checker=checker)
    return found


def _pattern(_: Any, pattern: str, value: object, __: Any) -> Iterator[ValidationError]:
    """Patterns as JSON Schema means them: `$` is the very end, also before a line break."""
    if isinstance(value, str) and (value.endswith("\n") or not _compiled(pattern).search(value)):
        yield ValidationError("does not match")


@cache
def _compiled(pattern: str) -> re.Pattern[str]:
    return re.compile(pattern)


def _translated(error: ValidationError, place: Place) -> Iterator[tuple[Fault, bool]]:
    """The faults one error of the validator stands for, and whether what is there is malformed."""
    keyword = str(error.validator)
    held: Any = error.schema
    value: Any = error.instance
    limit: Any = error.validator_value
    if keyword == "additionalProperties":
        for key in value:
            if key not in held["properties"]:
                sentence = f"{shown(key)} is no key of {held['title']}: {did_you_mean(key, held['properties'])}"
                yield Fault((*place, key), sentence), True
    elif keyword == "required":
        for key in limit:
            if key not in value:
                yield Fault((*place, key), f"This is missing: give {held['title']} {_what(held, key)}."), False
    else:
        yield Fault(place, _sentence(keyword, value, limit, held)), keyword in TAKEN_OUT


def _what(held: Document, key: str) -> str:
    description = held["properties"][key]["description"]
    return f"{shown(key)} ({description[0].lower()}{description[1:].rstrip('.')})"


def _sentence(keyword: str, value: Any, limit: Any, held: Document) -> str:
    title = held.get("title", "")
    sayings: dict[str, Callable[[], str]] = {
        "type": lambda: _of_other_type(value, limit, title),
        "enum": lambda: f"{shown(value)} is none of {', '.join(limit)}.",
        "const": lambda: f"{shown(value)} should be {shown(limit)}.",
        "minLength": lambda: f"This may not be empty: give {title}.",
        "maxLength": lambda: f"This is too long: at most {limit} characters are kept.",
        "minimum": lambda: f"{shown(value)} is too small: give {title}, {limit} or more.",
        "maximum": lambda: f"{shown(value)} is too large: give {title}, {limit} or less.",
        "minItems": lambda: f"This may not be empty: give {title}, or leave it out where it is optional.",
        "maxItems": lambda: f"These are too many: at most {limit}.",
        "uniqueItems": lambda: f"Something is named twice here: {shown(_repeated(value))}.",
        "minProperties": lambda: 'A pool says which activities count: give "of" or "except".',
        "maxProperties": lambda: 'A pool gives "of" or "except", not both.',
        "oneOf": lambda: MISCHOSEN[title],
        "anyOf": lambda: MISCHOSEN[title],
    }
    if keyword in ("pattern", "format"):
        return f"{shown(value)} is not {title}: {_first_lowered(held['description'])}"
    return sayings[keyword]()


def _of_other_type(value: Any, wanted: str, title: str) -> str:
    if title == "a fraction":
        return f'{shown(value)} is not exact: write a fraction as text, as in "3/4" or "0.75".'
    if wanted == "array":
        return f"{shown(value)} should be {title or 'a list'} in [ ]."
    if wanted == "integer":
        return f"{shown(value)} should be {title}."
    meant = f" ({title})" if title and title not in NAMED_TYPES[wanted] else ""
    return f"{shown(value)} should be {NAMED_TYPES[wanted]}{meant}."


def _first_lowered(text: str) -> str:
    return text[0].lower() + text[1:]


def _repeated(values: Sequence[Any]) -> Any:
    return next(value for n, value in enumerate(values) if value in values[:n])


def _without(document: Document, places: Sequence[Place]) -> Document:
    """A copy without what stands at some places (None in lists) and without empty texts."""
    bad = frozenset(places)

    def kept(value: Any, place: Place) -> Any:
        if isinstance(value, dict):
            return {
                key: kept(held, (*place, key)) for key, held in value.items() if held != "" and (*place, key) not in bad
            }
        if isinstance(value, list):
            return [None if (*place, n) in bad else kept(held, (*place, n)) for n, held in enumerate(value)]
        return value

    sound: Document = {} if () in bad else kept(document, ())
    return sound
