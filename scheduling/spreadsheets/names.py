"""Names of activities as somebody wrote them, found among the school's own."""

import difflib
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

LIKE_ENOUGH = 0.75
MOST_NEAR = 3
SHORTEST = 3
LONGEST = 80
"""Letters of a name by which it is compared and remembered."""
How = Literal["exact", "remembered", "near", "unknown"]


@dataclass(frozen=True)
class Match:
    """A written name and what it is taken for: an activity's key, '' for leaving it out, None where that is not
    known. `near` are the keys of those that look like it, likeliest first."""

    written: str
    folded: str
    key: str | None
    how: How
    near: tuple[str, ...] = ()


def folded(text: str) -> str:
    """A text without what people write one way and another: case, accents, spaces and punctuation."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    kept = "".join(letter if letter.isalnum() else " " for letter in plain if not unicodedata.combining(letter))
    return (" ".join(kept.split()) or " ".join(text.split()))[:LONGEST].strip()


def matches(
    written: Iterable[str], activities: Mapping[str, str], remembered: Mapping[str, str] | None = None
) -> list[Match]:
    """Each name once, in the order given. `activities` are names by key; `remembered` are keys by folded name, and
    count only while the school has that activity."""
    names: dict[str, str] = {}
    for name in written:
        names.setdefault(folded(name), name)
    by_fold: dict[str, list[str]] = {}
    for key, name in activities.items():
        by_fold.setdefault(folded(name), []).append(key)
    known = {fold: key for fold, key in (remembered or {}).items() if not key or key in activities}
    return [_match(name, fold, activities, by_fold, known) for fold, name in names.items()]


def _match(
    name: str, fold: str, activities: Mapping[str, str], by_fold: Mapping[str, list[str]], known: Mapping[str, str]
) -> Match:
    letter_by_letter = [key for key, own in activities.items() if own == name]
    alike = letter_by_letter if len(letter_by_letter) == 1 else by_fold.get(fold, [])
    if len(alike) == 1:
        return Match(name, fold, alike[0], "exact")
    if fold in known:
        return Match(name, fold, known[fold], "remembered")
    near = tuple(alike) or _near(fold, by_fold)
    if near and not alike:
        return Match(name, fold, near[0], "near", near)
    return Match(name, fold, None, "unknown", near)


def _near(fold: str, by_fold: Mapping[str, list[str]]) -> tuple[str, ...]:
    """Keys of names that are mostly alike, or of which one begins the other, as Math does Mathematics."""
    if len(fold) < SHORTEST:
        return ()
    found = difflib.get_close_matches(fold, by_fold, n=MOST_NEAR, cutoff=LIKE_ENOUGH)
    begun = [one for one in by_fold if len(one) >= SHORTEST and (one.startswith(fold) or fold.startswith(one))]
    every = dict.fromkeys((*found, *begun))
    return tuple(key for one in every for key in by_fold[one])[:MOST_NEAR]
