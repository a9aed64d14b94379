"""What an edit did, in a sentence or two for the person who made it."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from scheduling.minutes import figures
from scheduling.models import Reading, WeekChange
from scheduling.selectors.ledger import Pair, visibly
from scheduling.selectors.year_words import PartWords, RuleWords, YearWords, day_said
from teamroom.common.clock import said_clock, said_span

Kept = Mapping[str, Any]
MOST_TOLD = 2


def edit_said(change: WeekChange, changes: Sequence[Pair], words: YearWords) -> str:
    """`Mathematics moved to Tue 9:00. Science is 20 minutes short in the week of 7 Sep.`"""
    return " ".join((deed_said(change, words), *_consequences(changes, words)))


def deed_said(change: WeekChange, words: YearWords) -> str:
    """What was done to which block."""
    before, after = _first(change.before), _first(change.after)
    kept = after or before
    name = _name(words, kept)
    if change.undoes_id is not None:
        where = f"{_where(words, kept)} {said_span(kept['start'], kept['end'])}"
        return f"Undone: {name} is back on {where}." if after else f"Undone: {name} on {where} is gone again."
    if change.deed == "add":
        return f"{name} added on {_where(words, after)} {said_span(after['start'], after['end'])}."
    if change.deed == "remove":
        return f"{name} on {_where(words, before)} {said_span(before['start'], before['end'])} removed."
    if change.deed == "split":
        return f"{name} split at {said_clock(after['end'])}."
    return _altered(words, name, before, after)


def _altered(words: YearWords, name: str, before: Kept, after: Kept) -> str:
    where = ("day", "kind")
    length = after["end"] - after["start"]
    span = said_span(after["start"], after["end"])
    if before["activity"] != after["activity"]:
        return (
            f"{_name(words, before)} is now {name}, {_where(words, after)} {said_span(after['start'], after['end'])}."
        )
    if any(before[key] != after[key] for key in where):
        return f"{name} moved to {_where(words, after)} {said_clock(after['start'])}."
    if length != before["end"] - before["start"]:
        return f"{name} on {_where(words, after)} is now {length} minutes, {span}."
    if before["start"] != after["start"]:
        return f"{name} moved to {_where(words, after)} {said_clock(after['start'])}."
    return f"{name} on {_where(words, after)} {said_clock(after['start'])} changed."


def _first(kept: Sequence[Kept]) -> Kept:
    return kept[0] if kept else {}


def _name(words: YearWords, kept: Kept) -> str:
    activity = words.by_key.get(kept["activity"])
    return activity.name if activity else str(kept["activity"])


def _where(words: YearWords, kept: Kept) -> str:
    kind = next((name for key, name in words.kinds.values() if key == kept["kind"]), kept["kind"])
    if not kept["day"]:
        return f"the {kind[:1].lower()}{kind[1:]}"
    day = day_said(kept["day"])
    usual = words.kinds[words.usual_kind(kept["day"])][0]
    return day if kept["kind"] in (usual, words.kinds[words.regular][0]) else f"{day} ({kind})"


def _consequences(changes: Sequence[Pair], words: YearWords) -> Iterator[str]:
    """First the rules whose verdict turned; else one that goes on falling short, and how many others moved."""
    turned = list(_turned(changes, words))
    yield from turned[:MOST_TOLD]
    if len(turned) > MOST_TOLD:
        yield f"{len(turned) - MOST_TOLD} more verdicts changed: see the ledger."
    if turned:
        return
    seen = [pair for pair in changes if visibly(pair)]
    rules = {reading.rule_id for pair in seen for reading in pair if reading is not None}
    failing = next(_still_failing(seen, words), "")
    if failing:
        yield failing
    yield from _others_said(len(rules), after_one=bool(failing))


def _others_said(rules: int, *, after_one: bool) -> Iterator[str]:
    others = rules - after_one
    if not rules:
        yield "No figure in the ledger changed."
    elif others:
        yield (
            f"{others}{' other' if after_one else ''} rule{' has' if others == 1 else 's have'} other minutes; "
            "the verdicts are as before."
        )


def _still_failing(seen: Sequence[Pair], words: YearWords) -> Iterator[str]:
    """The rules that fell short before and do now, by another figure."""
    for _, after in seen:
        if after is not None and after.part is not None and after.status != "met" and after.rule_id in words.rules:
            rule = words.rules[after.rule_id]
            if not rule.rule.any_of:
                yield f"{rule.name} is {_missed(rule.parts[after.part], after)}."


def _turned(changes: Sequence[Pair], words: YearWords) -> Iterator[str]:
    told: set[int] = set()
    for before, after in changes:
        if before is None or after is None or after.part is not None or before.status == after.status:
            continue
        rule = words.rules.get(after.rule_id)
        if rule is None or rule.pk in told:
            continue
        told.add(rule.pk)
        yield _verdict_said(rule, after, changes)


def _verdict_said(rule: RuleWords, after: Reading, changes: Sequence[Pair]) -> str:
    if after.status == "met":
        return f"{rule.name} is now met."
    for _, row in changes:
        if row is None or row.rule_id != rule.pk or row.part is None or row.status == "met":
            continue
        words = rule.parts[row.part]
        return f"{rule.name} is {_missed(words, row)}."
    return f"{rule.name} is now {after.status}."


def _missed(words: PartWords, row: Reading) -> str:
    assert row.first is not None and row.last is not None and row.margin is not None  # noqa: S101 - a part's row has them
    amount = figures.amount_in_words(words.part, row.margin)
    window = figures.window_said(words.part, row.first, row.last)
    kind = words.part.window.kind
    where = f"on {window}" if kind == "day" else f"in {'the ' if kind in ('week', 'run') else ''}{window}"
    return f"{amount} {row.status} {where}"
