"""What a rule's form holds as typed, and the names its fields are posted under. Pure: no Django.

A part's fields carry its number, as in `p0-amount`; `part` is posted once for each part. A part
keeps its number while it stands on the form, so taking one out moves no other part's fields.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import zip_longest

Posted = Mapping[str, Sequence[str]]

MOST_PARTS = 100
MOST_ROWS = 200
HIGHEST = 999


@dataclass(frozen=True, slots=True)
class PoolTyped:
    """`counts` is `of` (these activities) or `except` (all planned time but these)."""

    counts: str = "of"
    activities: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CapTyped:
    """One limit as typed: an activity, how much, and per what (`share`: of the requirement)."""

    activity: str = ""
    most: str = ""
    per: str = "day"

    @property
    def blank(self) -> bool:
        return not (self.activity or self.most.strip())


@dataclass(frozen=True, slots=True)
class PairTyped:
    """An activity that does not count right beside another."""

    activity: str = ""
    beside: str = ""

    @property
    def blank(self) -> bool:
        return not (self.activity or self.beside)


@dataclass(frozen=True, slots=True)
class PartTyped:
    """One part as typed. Fields that its test or window does not ask for keep what they hold."""

    pool: PoolTyped = PoolTyped()
    test: str = "at_least"
    amount: str = ""
    share: str = ""
    base: PoolTyped = PoolTyped("except")
    days: str = ""
    day_minutes: str = ""
    window: str = "week"
    run_days: str = ""
    run: str = "fixed"
    mean: str = ""
    sitting: str = ""
    caps: tuple[CapTyped, ...] = ()
    pairs: tuple[PairTyped, ...] = ()
    day_kinds: tuple[str, ...] = ()
    short_window: str = ""


@dataclass(frozen=True, slots=True)
class BodyTyped:
    """All of a rule's demand as typed: its parts by number, in order, and whether all or any must hold."""

    join: str = "all"
    parts: Mapping[int, PartTyped] = field(default_factory=lambda: {0: PartTyped()})

    def with_part(self) -> "BodyTyped":
        """One more part, empty but for the pool of the last, which is what a second part mostly shares."""
        if len(self.parts) >= MOST_PARTS:
            return self
        last = max(self.parts, default=-1)
        pool = self.parts[last].pool if self.parts else PoolTyped()
        return replace(self, parts={**self.parts, min(last + 1, HIGHEST): PartTyped(pool=pool)})

    def without_part(self, number: int) -> "BodyTyped":
        left = {one: part for one, part in self.parts.items() if one != number}
        return replace(self, parts=left or {0: PartTyped()})


SINGLE = (
    *("test", "amount", "share", "days", "day_minutes", "window"),
    *("run_days", "run", "mean", "sitting", "short_window"),
)


def body_posted(typed: BodyTyped) -> dict[str, list[str]]:
    """What a browser posts for a form that holds this: the opposite of `body_typed`."""
    posted = {"part": [str(number) for number in typed.parts], "join": [typed.join]}
    for number, part in typed.parts.items():
        told: dict[str, list[str]] = {name: [getattr(part, name)] for name in SINGLE}
        told |= {"counts": [part.pool.counts], "activities": list(part.pool.activities)}
        told |= {"base_counts": [part.base.counts], "base_activities": list(part.base.activities)}
        told["day_kinds"] = list(part.day_kinds)
        for name in ("activity", "most", "per"):
            told[f"cap_{name}"] = [getattr(cap, name) for cap in part.caps]
        for name in ("activity", "beside"):
            told[f"pair_{name}"] = [getattr(pair, name) for pair in part.pairs]
        posted |= {f"p{number}-{name}": values for name, values in told.items()}
    return posted


def body_typed(posted: Posted) -> BodyTyped:
    """What was typed, out of a post. Whatever is missing is as in an empty form."""
    numbers = [int(text) for text in posted.get("part", ()) if text.isascii() and text.isdigit() and len(text) <= 3]
    parts = {number: _part(posted, f"p{number}-") for number in list(dict.fromkeys(numbers))[:MOST_PARTS]}
    return BodyTyped(_one(posted, "join", "all"), parts or {0: PartTyped()})


def _part(posted: Posted, prefix: str) -> PartTyped:
    blank = PartTyped()
    single = {name: _one(posted, prefix + name, getattr(blank, name)) for name in SINGLE}
    caps = _rows(posted, prefix, ("cap_activity", "cap_most", "cap_per"))
    pairs = _rows(posted, prefix, ("pair_activity", "pair_beside"))
    return PartTyped(
        pool=PoolTyped(_one(posted, f"{prefix}counts", "of"), _each_once(posted, f"{prefix}activities")),
        base=PoolTyped(_one(posted, f"{prefix}base_counts", "except"), _each_once(posted, f"{prefix}base_activities")),
        day_kinds=_each_once(posted, f"{prefix}day_kinds"),
        caps=tuple(cap for row in caps if not (cap := CapTyped(row[0], row[1], row[2] or "day")).blank),
        pairs=tuple(pair for row in pairs if not (pair := PairTyped(*row)).blank),
        **single,
    )


def _one(posted: Posted, name: str, otherwise: str) -> str:
    values = posted.get(name, ())
    return values[-1] if values else otherwise


def _each_once(posted: Posted, name: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(posted.get(name, ())))


def _rows(posted: Posted, prefix: str, names: tuple[str, ...]) -> list[tuple[str, ...]]:
    """Fields that are posted row by row, put back together; a row cut short is filled with nothing."""
    columns = [posted.get(prefix + name, ()) for name in names]
    return list(zip_longest(*columns, fillvalue=""))[:MOST_ROWS]
