"""What putting a week back would do, in words: its blocks that differ, and the minutes."""

from dataclasses import dataclass

from scheduling.models import Week
from scheduling.selectors.history import moment_said
from scheduling.selectors.history_words import BlockTold, history_words
from scheduling.selectors.preview_words import Change, LineTold, Preview, preview_told
from scheduling.selectors.year_words import YearWords
from scheduling.week_replay import State
from teamroom.common.wording import counted


@dataclass(frozen=True, slots=True)
class RestoringTold:
    """`said` names the moment; `minutes` says in a sentence what the lines show of each rule."""

    revision: int
    seen: int
    said: str
    counts: str
    blocks: tuple[BlockTold, ...]
    minutes: str
    lines: tuple[LineTold, ...]


@dataclass(frozen=True)
class Rehearsed:
    """What putting a week back would do: its blocks that differ, now and then, and the readings."""

    revision: int
    seen: int
    now: State
    then: State
    changes: tuple[Change, ...]


def restoring_told(rehearsed: Rehearsed, week: Week) -> RestoringTold:
    """A rehearsal in words, for the page that asks."""
    words = history_words(week)
    blocks = words.contrast(rehearsed.now, rehearsed.then)
    minutes, lines = _minutes(rehearsed, week, words.year)
    return RestoringTold(
        revision=rehearsed.revision,
        seen=rehearsed.seen,
        said=moment_said(week, rehearsed.revision),
        counts=_counts(blocks),
        blocks=blocks,
        minutes=minutes,
        lines=lines,
    )


def _counts(blocks: tuple[BlockTold, ...]) -> str:
    verbs = {"comes": "back", "goes": "taken out", "changes": "changed"}
    held = {verb: sum(one.becomes == becomes for one in blocks) for becomes, verb in verbs.items()}
    return ", ".join(f"{counted(count, 'block')} {verb}" for verb, count in held.items() if count)


def _minutes(rehearsed: Rehearsed, week: Week, words: YearWords) -> tuple[str, tuple[LineTold, ...]]:
    if week.draft:
        return "A draft counts for nothing until it is put in effect.", ()
    year = week.classroom.year
    days = words.inputs.year.days
    rooms = {week.classroom_id: str(week.classroom)}
    preview = Preview(year.revision, rooms, rehearsed.changes, days, days, words.rules, dict(words.kinds.values()))
    told = preview_told(preview, year)
    if not told.rooms:
        return "No reading changes.", ()
    room = told.rooms[0]
    return f"{room.said[:1].upper()}{room.said[1:]}.", room.lines
