"""Grades as people type them, into the list the app keeps. Pure: no Django."""

import re
from collections.abc import Collection, Iterable

LADDER = ("PK", "TK", "K", *(str(number) for number in range(1, 13)))
"""Grades in the order a school climbs them, as schools in the United States name them."""

LONGEST, MOST = 20, 30

# As people write the names out; what stands between grades says nothing.
ALSO_WRITTEN = {"KINDERGARTEN": "K", "PREK": "PK", "PRE-K": "PK", "PREKINDERGARTEN": "PK", "PRE-KINDERGARTEN": "PK"}
FILLING = {"GRADE", "GRADES", "AND"}
ORDINAL = re.compile(r"0*(\d{1,2})(?:ST|ND|RD|TH)?")
RANGE = re.compile(r"(.+?)\s*(?:-|\N{EN DASH}|\bto\b)\s*(.+)", re.IGNORECASE)


class NotUnderstood(ValueError):
    """Something that is no grade; the message says which words, and what to write instead."""


def parsed_grades(written: str, *, also: Collection[str] = ()) -> list[str]:
    """`K, 1` or `4 5` or `3-5` as a list: the order kept, nothing twice.

    `also` are other names the school uses. Raises NotUnderstood; an empty text gives an empty list.
    """
    own = {name.casefold(): name for name in also}
    found: list[str] = []
    strange: list[str] = []
    for piece in re.split(r"[,;/&+\n]", written):
        _read(piece.strip(), own, found, strange)
    if strange:
        told = ", ".join(f"\N{LEFT DOUBLE QUOTATION MARK}{word}\N{RIGHT DOUBLE QUOTATION MARK}" for word in strange)
        raise NotUnderstood(f"Not understood as a grade: {told[:200]}. Write PK, TK, K or 1 to 12, as in K, 1.")
    grades = list(dict.fromkeys(found))
    if len(grades) > MOST:
        raise NotUnderstood(f"Name at most {MOST} grades.")
    return grades


def _read(piece: str, own: dict[str, str], found: list[str], strange: list[str]) -> None:
    """Take a piece between commas as one grade, a range, or words with spaces between them."""
    piece = re.sub(r"^grades?\s+", "", piece, count=1, flags=re.IGNORECASE) if piece.casefold() not in own else piece
    whole = _grades_in(piece, own)
    if whole is not None:
        found += whole
        return
    for word in re.sub(r"\s*([-\N{EN DASH}])\s*", r"\1", piece).split():
        some = _grades_in(word, own)
        if some is None:
            strange.append(word[:LONGEST])
        else:
            found += some


def _grades_in(text: str, own: dict[str, str]) -> list[str] | None:
    one = _one(text, own)
    if one is not None:
        return one
    ends = RANGE.fullmatch(text)
    if ends is None:
        return None
    first, last = (_one(end.strip(), own) for end in ends.groups())
    if not first or not last or first[0] not in LADDER or last[0] not in LADDER:
        return None
    start, stop = LADDER.index(first[0]), LADDER.index(last[0])
    return list(LADDER[start : stop + 1]) if start < stop else None


def _one(text: str, own: dict[str, str]) -> list[str] | None:
    """A single grade as a list; empty for a word that only joins grades; None for anything else."""
    word = text.upper()
    if text.casefold() in own:
        return [own[text.casefold()]]
    if not word or word in FILLING:
        return []
    word = ALSO_WRITTEN.get(word, word)
    number = ORDINAL.fullmatch(word)
    if number is not None and word.isascii():
        word = number[1].lstrip("0") or "0"
    return [word] if word in LADDER else None


def said_grades(grades: Iterable[str]) -> str:
    """`4` as `grade 4`, `K, 1` as `grades K and 1`, a run of three or more as `grades 3 to 5`."""
    told = list(grades)
    if not told:
        return "no grade"
    if len(told) == 1:
        return f"grade {told[0]}"
    places = [LADDER.index(grade) if grade in LADDER else -1 for grade in told]
    if len(told) > 2 and -1 not in places and places == list(range(places[0], places[0] + len(told))):
        return f"grades {told[0]} to {told[-1]}"
    return f"grades {', '.join(told[:-1])} and {told[-1]}"
