"""From what was typed to a rule's body as a school file writes it, and back. Pure: no Django.

Every fault stands at a field, in a sentence that says how to mend it. What a school file's form
and `part_faults` would refuse, is refused here, so that what a form takes a school file takes too.
"""

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from scheduling.forms.rules.amounts import (
    MINUTES_IN_A_DAY,
    MOST_DAYS,
    MOST_MINUTES,
    count_typed,
    minutes_typed,
    share_shown,
    share_typed,
)
from scheduling.forms.rules.typed import BodyTyped, CapTyped, PairTyped, PartTyped, PoolTyped
from scheduling.minutes.definitions import (
    EVERYTHING,
    Written,
    activities_named,
    day_kinds_named,
    part_faults,
    part_from,
    tests_in,
    window_kind,
    written_parts,
)
from scheduling.minutes.rules import TEST_KINDS, WINDOW_KINDS

MEANS = ("day", "week")
PERS = ("sitting", "day", "week", "year", "share")
SHORT_WINDOWS = ("full", "prorate", "skip")
RUNS = ("fixed", "rolling")
JOINS = ("all", "any")

NO_MINUTES = f"Write whole minutes, as in 200, or hours, as in 990 h: at most {MOST_MINUTES:,} minutes."
NO_SHARE = "Write the share as 40%, 2/3 or 0.4."
NOT_OFFERED = "Choose one of what is offered."

PLAIN = {
    "mean": "A mean says nothing about this test: choose “in all”.",
    "caps": "This test knows no such limit: take it out, or ask for minutes.",
    "short_window": "A month cannot be asked its due share: choose the full figure, or leave it out.",
}


class Fault(NamedTuple):
    """A sentence at a field of a part."""

    part: int
    field: str
    sentence: str


@dataclass(frozen=True)
class Known:
    """What a body may name, by key: the year's activities and day kinds, and whatever the rule named before."""

    activities: Collection[str]
    kinds: Collection[str]


def body_written(typed: BodyTyped, known: Known) -> tuple[dict[str, Any], list[Fault]]:
    """The body, and what is wrong with it; with faults the body is only what could be read."""
    faults: list[Fault] = []
    parts = []
    for number, part in typed.parts.items():
        reader = _Reader(number, known, faults)
        parts.append(reader.part(part))
    if typed.join not in JOINS:
        faults.append(Fault(next(iter(typed.parts)), "join", NOT_OFFERED))
    return (parts[0] if len(parts) == 1 else {typed.join: parts}), faults


def kept_as_written(body: Written, before: Written) -> dict[str, Any]:
    """The body, word for word as it was written before wherever it means the same. Both free of faults.

    Defaults may be said or left unsaid and lists stand in any order; who changes nothing of a part
    changes nothing of its writing.
    """
    new, old = ([part for _, part in written_parts(some)] for some in (body, before))
    kept = [
        dict(old[place]) if place < len(old) and part_from(old[place]) == part_from(part) else dict(part)
        for place, part in enumerate(new)
    ]
    if len(new) == len(old) and kept == old and (len(new) < 2 or ("any" in body) is ("any" in before)):
        return dict(before)
    return kept[0] if len(kept) == 1 else {"any" if "any" in body else "all": kept}


def body_shown(body: Written) -> BodyTyped:
    """A body as the form shows it: the opposite of `body_written`."""
    parts = [_part_shown(part) for _, part in written_parts(body)]
    return BodyTyped("any" if "any" in body else "all", dict(enumerate(parts)) or {0: PartTyped()})


def _part_shown(written: Written) -> PartTyped:
    run, share, met = (written.get(key, {}) for key in ("run", "share", "days_met"))
    (test,) = tests_in(written)
    shown = PartTyped(
        pool=_pool_shown(written.get("pool", EVERYTHING)),
        test=test,
        window=window_kind(written),
        run_days=str(run.get("days", "")),
        run="rolling" if run.get("rolling") else "fixed",
        mean=written.get("mean", ""),
        sitting=str(written.get("sitting", "")),
        caps=tuple(_cap_shown(cap) for cap in written.get("caps", ())),
        pairs=tuple(PairTyped(pair["activity"], pair["beside"]) for pair in written.get("not_beside", ())),
        day_kinds=tuple(written.get("day_kinds", ())),
        short_window=written.get("short_window", ""),
    )
    if test == "share":
        return replace(shown, share=share_shown(share["at_least"]), base=_pool_shown(share["of"]))
    if test == "days_met":
        return replace(shown, days=str(met["at_least"]), day_minutes=str(met.get("minutes", "")))
    return replace(shown, amount=str(written[test]))


def _pool_shown(written: Written) -> PoolTyped:
    (word,) = written
    return PoolTyped(word, tuple(written[word]))


def _cap_shown(cap: Written) -> CapTyped:
    if "at_most_share" in cap:
        return CapTyped(cap["activity"], share_shown(cap["at_most_share"]), "share")
    return CapTyped(cap["activity"], str(cap["at_most"]), cap.get("per", "day"))


class _Reader:
    """Reads one part, noting what is wrong where."""

    def __init__(self, number: int, known: Known, faults: list[Fault]) -> None:
        self.number, self.known, self.faults = number, known, faults

    def refuse(self, field: str, sentence: str) -> None:
        self.faults.append(Fault(self.number, field, sentence))

    def part(self, typed: PartTyped) -> dict[str, Any]:
        before = len(self.faults)
        written = {
            "pool": self.pool(typed.pool, "activities"),
            **self.test(typed),
            **self.window(typed),
            **self.riders(typed),
        }
        if len(self.faults) == before:
            for place, sentence in part_faults(written):
                field = str(place[0]) if place else "test"
                self.refuse(field, PLAIN.get(field, sentence))
        return written

    def pool(self, typed: PoolTyped, field: str) -> dict[str, Any]:
        word = self.offered(typed.counts, ("of", "except"), field)
        if word == "of" and not typed.activities:
            self.refuse(field, "Tick what counts, or choose all planned time.")
        return {word: self.all_known(typed.activities, self.known.activities, field, "activity")}

    def test(self, typed: PartTyped) -> dict[str, Any]:
        kind = self.offered(typed.test, TEST_KINDS, "test")
        if kind == "share":
            return {"share": {"at_least": self.share(typed.share, "share"), "of": self.pool(typed.base, "base")}}
        if kind == "days_met":
            days: dict[str, Any] = {"at_least": self.count(typed.days, MOST_DAYS, "days", "days")}
            if typed.day_minutes.strip():
                days["minutes"] = self.count(typed.day_minutes, MINUTES_IN_A_DAY, "day_minutes", "minutes")
            return {"days_met": days}
        return {kind: self.minutes(typed.amount, "amount")}

    def window(self, typed: PartTyped) -> dict[str, Any]:
        kind = self.offered(typed.window, WINDOW_KINDS, "window")
        if kind != "run":
            return {"window": kind}
        days = self.count(typed.run_days, MOST_DAYS, "run_days", "school days")
        return {
            "window": kind,
            "run": {"days": days, "rolling": self.offered(typed.run, RUNS, "run_days") == "rolling"},
        }

    def riders(self, typed: PartTyped) -> dict[str, Any]:
        found: dict[str, Any] = {}
        if typed.mean:
            found["mean"] = self.offered(typed.mean, MEANS, "mean")
        if typed.sitting.strip():
            found["sitting"] = self.minutes(typed.sitting, "sitting")
        if caps := [self.cap(cap) for cap in typed.caps if not cap.blank]:
            found["caps"] = caps
        if pairs := [self.pair(pair) for pair in typed.pairs if not pair.blank]:
            found["not_beside"] = pairs
        if typed.day_kinds:
            found["day_kinds"] = self.all_known(typed.day_kinds, self.known.kinds, "day_kinds", "kind of day")
        if typed.short_window:
            found["short_window"] = self.offered(typed.short_window, SHORT_WINDOWS, "short_window")
        return found

    def cap(self, typed: CapTyped) -> dict[str, Any]:
        if not typed.activity:
            self.refuse("caps", "Say which activity the limit is for, or clear the row.")
        else:
            self.all_known([typed.activity], self.known.activities, "caps", "activity")
        per = self.offered(typed.per, PERS, "caps")
        if per == "share":
            return {"activity": typed.activity, "at_most_share": self.share(typed.most, "caps")}
        return {"activity": typed.activity, "at_most": self.minutes(typed.most, "caps"), "per": per}

    def pair(self, typed: PairTyped) -> dict[str, Any]:
        if not (typed.activity and typed.beside):
            self.refuse("pairs", "Name both activities of the pair, or clear the row.")
        else:
            self.all_known([typed.activity, typed.beside], self.known.activities, "pairs", "activity")
        return {"activity": typed.activity, "beside": typed.beside}

    def offered(self, value: str, choices: Collection[str], field: str) -> str:
        if value in choices:
            return value
        self.refuse(field, NOT_OFFERED)
        return next(iter(choices))

    def all_known(self, keys: Collection[str], known: Collection[str], field: str, what: str) -> list[str]:
        for key in keys:
            if key not in known:
                self.refuse(
                    field,
                    f"The year has no {what} “{key[:40]}”: choose one it has.",
                )
        return [key for key in keys if key in known]

    def minutes(self, text: str, field: str) -> int:
        found = minutes_typed(text)
        if found is None:
            self.refuse(field, "Say how many minutes." if not text.strip() else NO_MINUTES)
        return found or 0

    def count(self, text: str, most: int, field: str, what: str) -> int:
        found = count_typed(text, most)
        if found is None:
            self.refuse(field, f"Say how many {what}: a whole number from 1 to {most:,}.")
        return found or 1

    def share(self, text: str, field: str) -> str:
        found = share_typed(text)
        if found is None:
            self.refuse(field, "Say how large a share, as in 40%." if not text.strip() else NO_SHARE)
        return found or "0/1"


def known_to(activities: Collection[str], kinds: Collection[str], before: Written) -> Known:
    """What a rule may name: what the year has, and whatever the rule already names."""
    return Known(
        {*activities, *(key for _, key in activities_named(before))},
        {*kinds, *(key for _, key in day_kinds_named(before))},
    )


def faults_by_field(faults: Collection[Fault]) -> dict[int, dict[str, str]]:
    """The first sentence at each field of each part."""
    found: dict[int, dict[str, str]] = {}
    for fault in faults:
        found.setdefault(fault.part, {}).setdefault(fault.field, fault.sentence)
    return found
