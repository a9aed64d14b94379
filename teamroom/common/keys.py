"""A thing's own short key, made from its name."""

from collections.abc import Collection

from django.utils.text import slugify

LONGEST = 80


def free_key(name: str, taken: Collection[str], *, otherwise: str) -> str:
    """A key for a thing of this name that none of the `taken` has: `room-12`, then `room-12-2`.

    A name without a letter or digit of ASCII gives the key `otherwise`.
    """
    stem = slugify(name)[:LONGEST].strip("-_") or otherwise
    held = set(taken)
    found, count = stem, 1
    while found in held:
        count += 1
        tail = f"-{count}"
        found = stem[: LONGEST - len(tail)].rstrip("-_") + tail
    return found
