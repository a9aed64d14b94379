"""What an edit did, in a sentence or two for the person who made it."""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from scheduling.minutes import figures
from scheduling.minutes.figures import listed
from scheduling.models import Reading, WeekChange
from scheduling.selectors.ledger import Pair, visibly
from scheduling.selectors.year_words import PartWords, RuleWords, YearWords, day_said
from teamroom.common.clock import said_clock, said_date, said_span
from teamroom.dates.models import SchoolYear

Kept = Mapping[str, Any]
MOST_TOLD = 2
OF_A_BLOCK = ("add", "change", "move", "split", "remove")
"""Deeds whose record is about one block; the others say themselves what they did."""
OF_THE_TEAM = {
    "share": "is a team block now",
    "join": "is held with the team now",
    "step out": "is this classroom’s own now",
}
"""Deeds that change with whom a block is held; of many blocks at once their record says itself what they did."""

NOBODY = {"load": "A school file", "both weeks": "The year’s set-up"}
"""What made a change of which nobody is the maker."""

Elsewhere = Sequence[tuple[str, Sequence[Pair]]]
"""Other classrooms by name, and what an edit changed of their readings."""


def who_said(change: WeekChange) -> str:
    """Who made a change, or what did where nobody is named."""
    return change.member.name if change.member else NOBODY.get(change.deed, "Nobody by name")


def edit_said(change: WeekChange, changes: Sequence[Pair], words: YearWords, elsewhere: Elsewhere = ()) -> str:
    """`Mathematics moved to Tue 9:00. In Room 14 too. Science is 20 minutes short in the week of 7 Sep.`"""
    too = [f"In {listed([room for room, _ in elsewhere])} too."] if elsewhere else []
    told = (deed_said(change, words), *too, *_consequences(changes, words), *verdicts_elsewhere(elsewhere, words))
    return " ".join(told)


def verdicts_elsewhere(elsewhere: Elsewhere, words: YearWords) -> Iterator[str]:
    """`Room 14: Science is now met.`, for some of the classrooms in which a verdict turned."""
    told = [f"{room}: {turned[0]}" for room, pairs in elsewhere if (turned := list(_turned(pairs, words)))]
    yield from told[:MOST_TOLD]
    if len(told) > MOST_TOLD:
        yield "More verdicts changed there."


def deed_said(change: WeekChange, words: YearWords) -> str:
    """What was done to which block."""
    before, after = _first(change.before), _first(change.after)
    kept = after or before
    if change.undoes_id is not None:
        return _back_and_forth_said(change, words)
    if change.deed not in (*OF_A_BLOCK, *OF_THE_TEAM) or not kept or len(change.after) > MOST_TOLD:
        return f"{change.summary}."
    name = name_said(words, kept)
    if change.deed in OF_THE_TEAM:
        where = f"on {place_said(words, kept)} {said_span(kept['start'], kept['end'])}"
        return f"{name} {where} {OF_THE_TEAM[change.deed]}."
    if change.deed == "add":
        return f"{name} added on {place_said(words, after)} {said_span(after['start'], after['end'])}."
    if change.deed == "remove":
        return f"{name} on {place_said(words, before)} {said_span(before['start'], before['end'])} removed."
    if change.deed == "split":
        return f"{name} split at {said_clock(after['end'])}."
    return _altered(words, name, before, after)


def _back_and_forth_said(change: WeekChange, words: YearWords) -> str:
    again = change.deed == "redo"
    lead = "Done again" if again else "Undone"
    count = len({kept["block"] for kept in (*change.before, *change.after)})
    if count > MOST_TOLD:
        return f"{lead}: {count} blocks are as they were {'after' if again else 'before'} it."
    after = _first(change.after)
    kept = after or _first(change.before)
    where = f"{place_said(words, kept)} {said_span(kept['start'], kept['end'])}"
    name = name_said(words, kept)
    if after:
        return f"{lead}: {name} is {'' if again else 'back '}on {where}."
    return f"{lead}: {name} on {where} is gone{'' if again else ' again'}."


def _altered(words: YearWords, name: str, before: Kept, after: Kept) -> str:
    where = ("day", "kind")
    length = after["end"] - after["start"]
    span = said_span(after["start"], after["end"])
    if before["activity"] != after["activity"]:
        return f"{name_said(words, before)} is now {name}, {place_said(words, after)} {span}."
    if any(before[key] != after[key] for key in where):
        return f"{name} moved to {place_said(words, after)} {said_clock(after['start'])}."
    if length != before["end"] - before["start"]:
        return f"{name} on {place_said(words, after)} is now {length} minutes, {span}."
    if before["start"] != after["start"]:
        return f"{name} moved to {place_said(words, after)} {said_clock(after['start'])}."
    return f"{name} on {place_said(words, after)} {said_clock(after['start'])} changed."


def _first(kept: Sequence[Kept]) -> Kept:
    return kept[0] if kept else {}


def said_moment(at: dt.datetime, year: SchoolYear) -> str:
    """`Tue 6 Oct, 2:05`, on the school's clock."""
    here = at.astimezone(ZoneInfo(year.school.time_zone))
    return f"{said_date(here.date())}, {said_clock(here.hour * 60 + here.minute)}"


def name_said(words: YearWords, kept: Kept) -> str:
    """The activity of a block of the history, by its name if the school still has it."""
    activity = words.by_key.get(kept["activity"])
    return activity.name if activity else str(kept["activity"])


def place_said(words: YearWords, kept: Kept) -> str:
    """`Tue`, `Tue (Minimum day)`, `the minimum day`."""
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
