"""Suggestions for a word that nobody knows."""

import difflib
import json
from collections.abc import Iterable

LONGEST_COMPARED = 100
MOST_NAMED = 12


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that looks most like another, if any does."""
    folded = {name.casefold(): name for name in known}
    found = difflib.get_close_matches(word.casefold()[:LONGEST_COMPARED], folded, n=1, cutoff=0.5)
    return folded[found[0]] if found else None


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """The end of a sentence: the nearest known word, or some of those there are."""
    known = list(known)
    near = nearest(word, known)
    if near is not None:
        return f"did you mean {quoted(near)}?"
    if not known:
        return "there is none yet."
    some = ", ".join(quoted(name) for name in known[:MOST_NAMED])
    return f"known are {some}{' and others' if len(known) > MOST_NAMED else ''}."


def quoted(word: str) -> str:
    return json.dumps(word, ensure_ascii=False)
