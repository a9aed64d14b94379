"""What a change of a year would do to the readings, in words: the shapes a preview shows, and a school's days.

Everything told is text and numbers, so that a preview worked out in the background can be kept as JSON.
"""

import datetime as dt
import uuid
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from hashlib import blake2b
from typing import Literal, NamedTuple

from scheduling.minutes import figures
from scheduling.minutes.rules import Figure
from scheduling.selectors.ledger import STANDING_TITLES, VERDICT_LOOKS, VERDICT_WORDS, Row
from scheduling.selectors.year_words import RuleWords
from teamroom.dates.calendar_maths import REGULAR, SchoolDay
from teamroom.dates.models import SchoolYear

Turn = Literal["falls", "worse", "rights", "better", "other"]
"""What becomes of a rule in a classroom: falls short or further short, comes right or nearer, or reads otherwise."""
TURNS: tuple[Turn, ...] = ("falls", "worse", "rights", "better", "other")
FAILING = ("short", "over", "below advice")
MOST_LISTED = 120


class Change(NamedTuple):
    """A reading before and after, None where there is none. A rule of which any part changes has
    its verdict among the changes, changed or not."""

    room: int
    before: Row | None
    after: Row | None

    @property
    def row(self) -> Row:
        row = self.after or self.before
        assert row is not None  # noqa: S101 - a change has one side at least
        return row


@dataclass(frozen=True)
class Preview:
    """A deed's outcome: every reading that would show otherwise. `revision` is the year's before it."""

    revision: uuid.UUID
    rooms: Mapping[int, str]
    changes: tuple[Change, ...]
    days_before: tuple[SchoolDay, ...]
    days_after: tuple[SchoolDay, ...]
    rules: Mapping[int, RuleWords]
    kinds: Mapping[str, str]

    @cached_property
    def seal(self) -> str:
        """Equal for equal outcomes, so that a yes can be held to what was shown. A rule counts by
        its key: one that the deed makes has another id each time."""
        told = sorted(
            repr((room, self.rules[row.rule_id].rule.key, before and before[1:], after and after[1:]))
            for room, before, after in self.changes
            if (row := after or before) is not None
        )
        return blake2b(repr((told, self.days_after)).encode(), digest_size=16).hexdigest()


@dataclass(frozen=True, slots=True)
class LineTold:
    """A rule in a classroom, and what becomes of it."""

    turn: str
    look: str
    verdict: str
    rule: str
    said: str


@dataclass(frozen=True, slots=True)
class RoomTold:
    """A classroom with its lines, the gravest first. `look` is that of the gravest."""

    pk: int
    name: str
    look: str
    said: str
    lines: tuple[LineTold, ...]


@dataclass(frozen=True, slots=True)
class RuleTold:
    """A rule over all classrooms: in how many it takes which turn, and the worst of them."""

    name: str
    standing: str
    falls: int
    worse: int
    rights: int
    worst: str


@dataclass(frozen=True, slots=True)
class DaysTold:
    """School days before and after: in all, and of each day kind that changes."""

    before: int
    after: int
    kinds: tuple[tuple[str, int, int], ...]
    said: str


@dataclass(frozen=True, slots=True)
class PreviewTold:
    """A preview as its page shows it. `left_out` classrooms are counted but not listed."""

    revision: str
    seal: str
    classrooms: int
    touched: int
    falls: int
    sentences: tuple[str, ...]
    days: DaysTold
    rules: tuple[RuleTold, ...]
    rooms: tuple[RoomTold, ...]
    left_out: int


@dataclass(frozen=True, slots=True)
class _Turned:
    """A rule's turn in one classroom, with how much it now lacks (0 or more) for sorting."""

    rule: RuleWords
    turn: Turn
    line: LineTold
    lack: Figure


def preview_told(preview: Preview, year: SchoolYear) -> PreviewTold:
    """A preview in words, the worst classrooms first."""
    turned = _turned(preview)
    rooms = sorted(
        (_room(pk, preview.rooms.get(pk, ""), found) for pk, found in turned.items()),
        key=lambda room: _gravity(turned[room.pk], room.name),
    )
    return PreviewTold(
        revision=str(preview.revision),
        seal=preview.seal,
        classrooms=len(preview.rooms),
        touched=len(rooms),
        falls=sum(1 for found in turned.values() if any(one.turn == "falls" for one in found)),
        sentences=tuple(_sentences(preview, turned)),
        days=days_told(preview.days_before, preview.days_after, preview.kinds, year),
        rules=tuple(_rules(preview, turned)),
        rooms=tuple(rooms[:MOST_LISTED]),
        left_out=max(0, len(rooms) - MOST_LISTED),
    )


def _turned(preview: Preview) -> dict[int, list[_Turned]]:
    """Each touched classroom's rules, those left out that stand as they stood. The grades of a
    combination class share a rule's figures, so one tells all."""
    found: dict[int, dict[int, dict[str, list[Change]]]] = defaultdict(lambda: defaultdict(lambda: defaultdict(list)))
    for change in preview.changes:
        found[change.room][change.row.rule_id][change.row.grade].append(change)
    turned: dict[int, list[_Turned]] = {}
    for room, rules in found.items():
        told = [_turn(preview.rules[pk], by_grade[min(by_grade)]) for pk, by_grade in sorted(rules.items())]
        if held := [one for one in told if one is not None]:
            turned[room] = held
    return turned


def _turn(rule: RuleWords, changes: Sequence[Change]) -> _Turned | None:
    """What becomes of one rule; None where it stands as it stood, and only a window more or fewer holds it."""
    verdict = next((change for change in changes if change.row.part is None), None)
    parts = [change for change in changes if change.row.part is not None]
    was = verdict.before.status if verdict and verdict.before else None
    now = verdict.after.status if verdict and verdict.after else None
    before, after = _tightest(change.before for change in parts), _tightest(change.after for change in parts)
    turn = _which(was, now, before, after)
    then, told = _stands(rule, was, before), _stands(rule, now, after)
    if then == told:
        return None
    look = VERDICT_LOOKS[now] if now else "unchecked"
    word = VERDICT_WORDS.get(now, now) if now else "no longer checked"
    line = LineTold(turn, look, word, rule.name, f"{told}; was {then}")
    lack = -after.margin if now in FAILING and after is not None and after.margin is not None else 0
    return _Turned(rule, turn, line, lack)


def _tightest(rows: Iterable[Row | None]) -> Row | None:
    """Of a rule's parts the one that decides: the least margin, the earliest of equals."""
    held = [row for row in rows if row is not None and row.margin is not None]
    return min(held, key=lambda row: row.margin or 0, default=None)


def _which(was: str | None, now: str | None, before: Row | None, after: Row | None) -> Turn:
    if now in FAILING and was not in FAILING:
        return "falls"
    if was in FAILING and now not in FAILING:
        return "rights"
    if was in FAILING and before is not None and after is not None:
        earlier, later = (
            (before.margin or 0, -(before.short_windows or 0)),
            (after.margin or 0, -(after.short_windows or 0)),
        )
        return "worse" if later < earlier else "better" if later > earlier else "other"
    return "other"


def _stands(rule: RuleWords, status: str | None, row: Row | None) -> str:
    """`short by 20 minutes, week of 8 Feb (3 of 38 weeks short)`, `met with 5 minutes to spare`, `not checked`."""
    if status is None:
        return "not checked"
    if row is None or row.margin is None or row.first is None or row.last is None:
        return VERDICT_WORDS.get(status, status)
    part = rule.rule.parts[row.part or 0]
    amount = figures.amount_in_words(part, row.margin)
    if status not in FAILING:
        return (
            f"met with {amount} to spare" if row.margin > 0 else "met, nothing to spare" if not row.margin else status
        )
    window = "" if part.window.kind == "year" else f", {figures.window_said(part, row.first, row.last)}"
    windows = figures.windows_said(part, row.short_windows or 0, row.windows or 0)
    return f"{status} by {amount}{window}" + (f" ({windows})" if windows else "")


def _gravity(found: Sequence[_Turned], name: str) -> tuple[float, ...] | tuple[object, ...]:
    count = Counter(one.turn for one in found)
    lack = sum((one.lack for one in found), start=0)
    return (*(-count[turn] for turn in TURNS[:2]), -lack, *(-count[turn] for turn in TURNS[2:4]), name)


def _room(pk: int, name: str, found: Sequence[_Turned]) -> RoomTold:
    lines = sorted(found, key=lambda one: (TURNS.index(one.turn), -one.lack))
    count = Counter(one.turn for one in found)
    told = [said for turn in TURNS if (said := _counted_rules(turn, count[turn]))]
    return RoomTold(pk, name, lines[0].line.look, ", ".join(told), tuple(one.line for one in lines))


def _counted_rules(turn: Turn, count: int) -> str:
    if not count:
        return ""
    one = count == 1
    words = {
        "falls": "falls short" if one else "fall short",
        "worse": "falls further short" if one else "fall further short",
        "rights": "comes right" if one else "come right",
        "better": "comes nearer" if one else "come nearer",
        "other": "reads otherwise" if one else "read otherwise",
    }[turn]
    return f"{count} rule{'' if one else 's'} {words}"


def _sentences(preview: Preview, turned: Mapping[int, Sequence[_Turned]]) -> Iterator[str]:
    count = len(preview.rooms)
    if not turned:
        yield "No reading of any classroom changes." if count else "It touches no classroom."
        return
    all_of = f"all {count:,} classrooms" if count > 1 else "the one classroom"
    of_all = all_of if len(turned) == count else f"{len(turned):,} of {_rooms_said(count)}"
    yield f"The minutes of {of_all} change."
    for turn, words in (
        ("falls", "a rule falls short"),
        ("worse", "a rule that is short falls further short"),
        ("rights", "a rule comes right"),
    ):
        rooms = [found for found in turned.values() if any(one.turn == turn for one in found)]
        if rooms:
            yield f"In {_rooms_said(len(rooms))} {words}."
        elif turn == "falls":
            yield "No rule falls short by it."


def _rooms_said(count: int) -> str:
    return f"{count:,} classroom{'' if count == 1 else 's'}"


def _rules(preview: Preview, turned: Mapping[int, Sequence[_Turned]]) -> Iterator[RuleTold]:
    """Rules that fall short, further short or come right anywhere, in the school's order."""
    by_rule: dict[int, list[tuple[str, _Turned]]] = defaultdict(list)
    for room, found in turned.items():
        for one in found:
            if one.turn in ("falls", "worse", "rights"):
                by_rule[one.rule.pk].append((preview.rooms.get(room, ""), one))
    for _, held in sorted(by_rule.items()):
        count = Counter(one.turn for _, one in held)
        name, worst = max(held, key=lambda pair: pair[1].lack)
        rule = worst.rule
        yield RuleTold(
            name=rule.name,
            standing=f"{STANDING_TITLES[rule.standing]}, {_grades_said(rule.grades)}",
            falls=count["falls"],
            worse=count["worse"],
            rights=count["rights"],
            worst=f"{figures.amount_in_words(rule.rule.parts[0], worst.lack)} in {name}" if worst.lack else "",
        )


def _grades_said(grades: Sequence[str]) -> str:
    return f"grade{'' if len(grades) == 1 else 's'} {figures.listed(grades)}"


def days_told(
    before: Sequence[SchoolDay], after: Sequence[SchoolDay], kinds: Mapping[str, str], year: SchoolYear
) -> DaysTold:
    """School days counted before and after, and how that stands to what the school must hold."""
    was, now = Counter(day.kind for day in before), Counter(day.kind for day in after)
    names = sorted(was | now, key=lambda key: (key != REGULAR, kinds.get(key, key)))
    return DaysTold(
        before=len(before),
        after=len(after),
        kinds=tuple((kinds.get(key, key), was[key], now[key]) for key in names if was[key] != now[key]),
        said=required_said(len(after), year.required_days),
    )


def required_said(days: int, required: int | None) -> str:
    """`2 more than the 180 the school must hold`; empty where nobody said how many it must."""
    if required is None:
        return ""
    if days == required:
        return f"exactly the {required} the school must hold"
    return f"{abs(days - required)} {'more' if days > required else 'fewer'} than the {required} the school must hold"


def dates_changed(preview: Preview) -> tuple[dt.date, ...]:
    """The dates that gain, lose or change their school day."""
    before, after = ({day.date: day for day in days} for days in (preview.days_before, preview.days_after))
    return tuple(sorted(date for date in before.keys() | after.keys() if before.get(date) != after.get(date)))
