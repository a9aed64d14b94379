"""Two weeks side by side in words: their blocks day by day, and every rule's figures of each."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from scheduling.minutes import figures
from scheduling.models import Block, BlockCredit, Reading, Week
from scheduling.selectors.ledger import VERDICT_LOOKS, VERDICT_WORDS, Ledger, Row, ledger_of
from scheduling.selectors.week_sheet import version_said
from scheduling.selectors.year_words import PartWords, YearWords, day_in_full, year_words
from scheduling.week_difference import Pair, Placed, pairs_of
from teamroom.common.clock import said_clock
from teamroom.common.wording import counted


@dataclass(frozen=True, slots=True)
class PairTold:
    """A block of each week in words, empty where there is none; `mark` is a shape beside `how`."""

    here: str
    there: str
    mark: str
    how: str


@dataclass(frozen=True, slots=True)
class DayTold:
    title: str
    pairs: tuple[PairTold, ...]
    said: str


@dataclass(frozen=True, slots=True)
class RuleTold:
    """A rule's part; figures are words, `change` the second week's beside the first's."""

    name: str
    period: str
    here: str
    here_look: str
    here_verdict: str
    there: str
    there_look: str
    there_verdict: str
    change: str


@dataclass(frozen=True)
class Comparison:
    here: str
    there: str
    days: tuple[DayTold, ...]
    rules: tuple[RuleTold, ...]
    said: str


def comparison_of(week: Week, other: Week, here: Iterable[Reading], there: Iterable[Reading]) -> Comparison:
    """Two weeks of one year, with the readings of each; four queries more than the year's words."""
    words = year_words(week.classroom.year)
    blocks = _blocks([week, other])
    pairs = pairs_of(blocks[week.pk], blocks[other.pk])
    ledgers = [ledger_of(one.classroom, words, would_be=some) for one, some in ((week, here), (other, there))]
    differing = sum(pair.differs for pair in pairs)
    apart = week.classroom_id != other.classroom_id
    titles = [f"{one.classroom}, {_named(one)}" if apart else _named(one) for one in (week, other)]
    return Comparison(
        here=titles[0],
        there=titles[1],
        days=tuple(_days(pairs, words)),
        rules=tuple(_rules(words, *ledgers)),
        said=f"{counted(differing, 'block')} of {len(pairs)} differ{'s' if differing == 1 else ''}."
        if differing
        else "Every block is the same.",
    )


def _named(week: Week) -> str:
    return version_said(week) if week.draft else f"in effect {version_said(week)}"


def _blocks(weeks: Sequence[Week]) -> dict[int, list[Placed]]:
    credits: dict[int, list[tuple[str, int]]] = defaultdict(list)
    rows = BlockCredit.objects.filter(block__column__week__in=weeks).order_by("place")
    for block, activity, minutes in rows.values_list("block_id", "activity__key", "minutes"):
        credits[block].append((activity, minutes))
    held: dict[int, list[Placed]] = {week.pk: [] for week in weeks}
    names = ("pk", "column__week", "column__day", "column__kind", "start", "end", "activity__key")
    for pk, week, day, kind, start, end, activity in Block.objects.filter(column__week__in=weeks).values_list(*names):
        held[week].append(Placed(f"{day}:{kind}", start, end, activity, tuple(credits[pk])))
    return held


def _days(pairs: Sequence[Pair], words: YearWords) -> Iterator[DayTold]:
    by_day: dict[str, list[Pair]] = defaultdict(list)
    for pair in pairs:
        by_day[pair.day].append(pair)
    order = {day: place for place, day in enumerate(words.cycle.day_names)}
    for day in sorted(
        by_day, key=lambda one: (one.split(":")[1] != str(words.regular), order.get(one.split(":")[0], -1), one)
    ):
        name, kind = day.split(":")
        title = day_in_full(name) if name else ""
        if int(kind) != words.regular:
            title = ", ".join(part for part in (title, words.kinds[int(kind)][1]) if part)
        differing = sum(pair.differs for pair in by_day[day])
        said = f"{counted(differing, 'difference')}" if differing else "the same"
        yield DayTold(title, tuple(_pair(pair, words) for pair in by_day[day]), said)


def _pair(pair: Pair, words: YearWords) -> PairTold:
    mark, how = _how(pair)
    return PairTold(_block(pair.here, words), _block(pair.there, words), mark, how)


def _block(block: Placed | None, words: YearWords) -> str:
    if block is None:
        return ""
    name = words.by_key[block.activity].name
    credits = ", ".join(f"{words.by_key[key].name} {minutes}" for key, minutes in block.credits)
    return f"{said_clock(block.start)} to {said_clock(block.end)} {name}" + (f" ({credits})" if credits else "")


def _how(pair: Pair) -> tuple[str, str]:
    here, there = pair.here, pair.there
    if here is None:
        return "+", "only in the second"
    if there is None:
        return "−", "only in the first"
    if not pair.differs:
        return "", "the same"
    told = []
    if here.activity != there.activity:
        told.append(("≠", "other activity"))
    if here.start != there.start:
        told.append(
            ("→", f"moved {abs(there.start - here.start)} minutes {'later' if there.start > here.start else 'earlier'}")
        )
    if pair.longer:
        told.append(("↕", f"{'longer' if pair.longer > 0 else 'shorter'} by {abs(pair.longer)}"))
    if here.credits != there.credits and here.activity == there.activity:
        told.append(("≈", "other minutes credited"))
    return told[0][0], ", ".join(how for _, how in told)


def _rules(words: YearWords, here: Ledger, there: Ledger) -> Iterator[RuleTold]:
    for pk, rule in words.rules.items():
        left, right = (_by_part(ledger, pk) for ledger in (here, there))
        if not left and not right:
            continue
        if rule.rule.not_checkable:
            yield RuleTold(
                rule.name, "", "", "unchecked", "not checkable here", "", "unchecked", "not checkable here", ""
            )
        for part in rule.parts:
            if part.place in left or part.place in right:
                yield _rule(rule.name, part, left.get(part.place), right.get(part.place))


def _by_part(ledger: Ledger, rule: int) -> dict[int | None, Row]:
    grades = ledger.rows.get(rule)
    return dict(next(iter(grades.values()))) if grades else {}


def _rule(name: str, part: PartWords, here: Row | None, there: Row | None) -> RuleTold:
    change = ""
    if here is not None and there is not None and here.planned is not None and there.planned is not None:
        change = (
            figures.change_in_words(part.part, here.planned, there.planned).replace(" than before", "") or "the same"
        )
    return RuleTold(name, part.period, *_figures(part, here), *_figures(part, there), change)


def _figures(part: PartWords, row: Row | None) -> tuple[str, str, str]:
    """`105 min of 90 min`, and how the verdict looks and reads."""
    if row is None or row.planned is None:
        return "", "unchecked", "does not apply"
    required = row.required or 0
    hours = figures.in_hours(row.planned, required)
    planned, needed = (figures.figure_said(part.part, one, hours=hours) for one in (row.planned, required))
    return f"{planned} of {needed}", VERDICT_LOOKS[row.status], VERDICT_WORDS.get(row.status, row.status)
