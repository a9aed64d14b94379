"""From bytes to a JSON document: what must hold before a schema can look at it."""

import json
from collections import Counter
from decimal import Decimal
from pathlib import Path
from typing import Any, BinaryIO

from teamroom.school_file import FORMAT, VERSION
from teamroom.school_file.faults import Fault, FileRefused, Place, shown

MEBIBYTE = 1024 * 1024
LARGEST = 32 * MEBIBYTE
DEEPEST = 20
LONGEST_NUMBER = 18


class Doubled(dict[str, Any]):
    """An object that gives some keys more than once; `twice` holds them."""

    twice: tuple[str, ...]


class NotJson(ValueError):
    """A word such as NaN, which JSON does not have."""


def read_path(path: Path) -> dict[str, Any]:
    """The document in a file.

    Raises FileRefused if it is no school file at all, and OSError if it cannot be opened.
    """
    with path.open("rb") as file:
        return read_stream(file)


def read_stream(stream: BinaryIO) -> dict[str, Any]:
    """The document in a stream of bytes, of which at most one more than allowed is read."""
    return document_in(stream.read(LARGEST + 1))


def document_in(data: bytes) -> dict[str, Any]:
    """The document in some bytes: an object with no doubled keys, of this format and version."""
    if len(data) > LARGEST:
        raise FileRefused([Fault((), f"The file is larger than {LARGEST // MEBIBYTE} MiB: no school file is.")])
    document = _parsed(_text(data))
    if not isinstance(document, dict):
        raise FileRefused([Fault((), "A school file is one JSON object: it begins with { and ends with }.")])
    _refuse_other_formats(document)
    return document


def _text(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise FileRefused([Fault((), f"The file is not in UTF-8 (line {line}): save it as UTF-8 text.")]) from error


def _parsed(text: str) -> Any:
    try:
        return json.loads(
            text, object_pairs_hook=_object, parse_constant=_no_constant, parse_float=_number, parse_int=_number
        )
    except json.JSONDecodeError as error:
        sentence = f"The file is not JSON: line {error.lineno}, column {error.colno}: {error.msg}."
        raise FileRefused([Fault((), sentence)]) from error
    except NotJson as error:
        raise FileRefused(
            [Fault((), f"The file is not JSON: it holds {error}; write a number, or leave it out.")]
        ) from error
    except RecursionError as error:
        raise FileRefused([Fault((), "The file is nested deeper than any school file.")]) from error


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) == len(pairs):
        return found
    times = Counter(name for name, _ in pairs)
    doubled = Doubled(found)
    doubled.twice = tuple(name for name in found if times[name] > 1)
    return doubled


def _no_constant(word: str) -> Any:
    raise NotJson(word)


def _number(written: str) -> int | float:
    """A whole number as an int, however it is written; one too long to be meant stays a float."""
    if len(written) <= LONGEST_NUMBER:
        exact = Decimal(written)
        if exact.adjusted() < LONGEST_NUMBER and exact == exact.to_integral_value():
            return int(exact)
    return float(written)


def text_faults(document: Any) -> list[Fault]:
    """Keys given twice and letters that no database keeps, in order of the file.

    Raises FileRefused for bottomless nesting, which nothing after this could look at.
    """
    faults: list[Fault] = []
    waiting: list[tuple[Place, Any]] = [((), document)]
    while waiting:
        place, value = waiting.pop()
        if len(place) > DEEPEST:
            raise FileRefused([Fault(place[:3], "This is nested deeper than anything in a school file.")])
        if isinstance(value, str) and not _keepable(value):
            faults.append(Fault(place, "This text holds a character that cannot be stored: take it out."))
        elif isinstance(value, Doubled):
            faults += [Fault((*place, key), f"{shown(key)} is given twice here: keep one.") for key in value.twice]
        if isinstance(value, dict):
            faults += [
                Fault(place, "A key here holds a character that cannot be stored.")
                for key in value
                if not _keepable(key)
            ]
            waiting += [((*place, key), held) for key, held in reversed(value.items())]
        elif isinstance(value, list):
            waiting += [((*place, n), value[n]) for n in range(len(value) - 1, -1, -1)]
    return faults


def _keepable(text: str) -> bool:
    if text.isascii():
        return "\x00" not in text
    return "\x00" not in text and not any("\ud800" <= letter <= "\udfff" for letter in text)


def _refuse_other_formats(document: dict[str, Any]) -> None:
    if document.get("format") != FORMAT:
        sentence = f'This is no school file: one begins with "format": "{FORMAT}".'
        raise FileRefused([Fault(("format",), sentence)])
    version = document.get("version")
    if version != VERSION or isinstance(version, bool):
        given = "no version is given" if version is None else f"this file's is {shown(version)}"
        raise FileRefused([Fault(("version",), f"This Teamroom reads version {VERSION} of school files; {given}.")])
