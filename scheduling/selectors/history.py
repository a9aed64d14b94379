"""The history of a week: who changed what, when and why, newest first."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from scheduling.models import Week, WeekChange
from scheduling.selectors.edit_words import OF_A_BLOCK, deed_said, said_moment, who_said
from scheduling.selectors.history_words import BlockTold, Difference, HistoryWords, history_words
from scheduling.week_replay import by_block
from teamroom.common.clock import said_clock
from teamroom.common.wording import full_date
from teamroom.members.models import Member

A_PAGE = 30
BACK_AND_FORTH = {"undo": "Undid", "redo": "Did again"}


@dataclass(frozen=True, slots=True)
class Asked:
    """Which part of a history: of one block or person by id, older than a revision."""

    block: int | None = None
    by: int | None = None
    before: int | None = None

    @property
    def is_part(self) -> bool:
        return self.block is not None or self.by is not None


@dataclass(frozen=True, slots=True)
class Entry:
    """One change, which took the week from the revision `before` to `revision`. `block` is the one it
    was about, 0 if several; `undone` says by whom and when."""

    pk: int
    before: int
    revision: int
    day: str
    clock: str
    at: dt.datetime
    who: str
    said: str
    differences: tuple[Difference, ...]
    blocks: tuple[BlockTold, ...]
    reason: str
    undone: str
    mine: bool
    several_rooms: bool
    block: int
    latest: bool


@dataclass(frozen=True, slots=True)
class History:
    """A page of a week's history. `older` is the revision from which older ones are asked for;
    `block` names the one block asked for."""

    entries: tuple[Entry, ...]
    older: int | None
    block: str


def history_of(week: Week, asked: Asked, *, reader: Member) -> History:
    """A page of the history in a fixed number of queries, however long it is."""
    words = history_words(week)
    rows = list(_asked_for(week, asked)[: A_PAGE + 1])
    chains = _Chains(week, rows[:A_PAGE])
    return History(
        entries=tuple(_entry(week, row, words, chains, reader) for row in rows[:A_PAGE]),
        older=rows[A_PAGE - 1].revision if len(rows) > A_PAGE else None,
        block=_block_named(week, asked.block, words) if asked.block is not None else "",
    )


def everybody(week: Week) -> list[tuple[int, str]]:
    """All who ever changed a week, by id and name."""
    made = WeekChange.objects.filter(week=week, member__isnull=False).order_by("member__name", "member")
    return list(made.values_list("member", "member__name").distinct())


def _asked_for(week: Week, asked: Asked) -> QuerySet[WeekChange]:
    found = WeekChange.objects.filter(week=week).select_related("member").order_by("-revision")
    if asked.block is not None:
        found = found.filter(_about(asked.block))
    if asked.by is not None:
        found = found.filter(member=asked.by)
    if asked.before is not None:
        found = found.filter(revision__lt=asked.before)
    return found


def _about(block: int) -> Q:
    return Q(before__contains=[{"block": block}]) | Q(after__contains=[{"block": block}])


def _block_named(week: Week, block: int, words: HistoryWords) -> str:
    latest = WeekChange.objects.filter(_about(block), week=week).order_by("-revision").first()
    kept = next((one for one in (*latest.after, *latest.before) if one["block"] == block), None) if latest else None
    return words.block(kept) if kept else "a block that this week never had"


class _Chains:
    """How edits, undoings and redoings of some rows hang together, in two queries."""

    def __init__(self, week: Week, rows: Sequence[WeekChange]) -> None:
        pairs = WeekChange.objects.filter(week=week, undoes__isnull=False).values_list("pk", "undoes")
        self.undoes: Mapping[int, int] = {pk: undoes for pk, undoes in pairs if undoes is not None}
        self.undone_by = {undoes: pk for pk, undoes in self.undoes.items()}
        wanted = {self.origin(row.pk) for row in rows if row.pk in self.undoes} | {self.end(row.pk) for row in rows}
        known = {row.pk: row for row in rows}
        missing = WeekChange.objects.filter(pk__in=wanted - known.keys()).select_related("member")
        self.known = {**known, **{row.pk: row for row in missing}}

    def origin(self, pk: int) -> int:
        """The edit that a chain goes back to."""
        while pk in self.undoes:
            pk = self.undoes[pk]
        return pk

    def end(self, pk: int) -> int:
        """What was done last about an edit: itself, an undoing or a redoing."""
        while pk in self.undone_by:
            pk = self.undone_by[pk]
        return pk

    def undone(self, row: WeekChange) -> WeekChange | None:
        """What took an edit back, if it is taken back now."""
        last = self.known[self.end(row.pk)]
        return last if row.undoes_id is None and last.deed == "undo" else None


def _entry(week: Week, row: WeekChange, words: HistoryWords, chains: _Chains, reader: Member) -> Entry:
    at = row.made_at.astimezone(ZoneInfo(week.classroom.year.school.time_zone))
    undone = chains.undone(row)
    touched = {kept["block"] for kept in (*row.before, *row.after)}
    differences, blocks = _details(row, words)
    return Entry(
        pk=row.pk,
        before=row.revision - 1,
        revision=row.revision,
        day=full_date(at.date()),
        clock=said_clock(at.hour * 60 + at.minute),
        at=at,
        who=who_said(row),
        said=_said(row, words, chains),
        differences=differences,
        blocks=blocks,
        reason=row.reason,
        undone=f"Undone by {who_said(undone)}, {said_moment(undone.made_at, week.classroom.year)}" if undone else "",
        mine=row.member_id == reader.pk,
        several_rooms=row.batch is not None,
        block=next(iter(touched)) if len(touched) == 1 else 0,
        latest=row.revision == week.revision,
    )


def _said(row: WeekChange, words: HistoryWords, chains: _Chains) -> str:
    if row.undoes_id is None:
        return deed_said(row, words.year)
    origin = deed_said(chains.known[chains.origin(row.pk)], words.year)
    return f"{BACK_AND_FORTH.get(row.deed, 'Undid')}: {origin}"


def _details(row: WeekChange, words: HistoryWords) -> tuple[tuple[Difference, ...], tuple[BlockTold, ...]]:
    """What of a single block differs, or each block of a change of several."""
    before, after = by_block(row.before), by_block(row.after)
    if row.undoes_id is not None or row.revision == 1:
        return (), ()
    if row.deed not in OF_A_BLOCK:
        return (), words.contrast(before, after)
    both = [pk for pk in before if pk in after]
    return (words.differences(before[both[0]], after[both[0]]) if both and row.deed != "split" else ()), ()


def revision_on(week: Week, date: dt.date) -> int:
    """The revision a week was at when a date ended; 1 before its first edit."""
    zone = ZoneInfo(week.classroom.year.school.time_zone)
    end = dt.datetime.combine(date + dt.timedelta(days=1), dt.time(), zone)
    latest = WeekChange.objects.filter(week=week, made_at__lt=end).order_by("-revision").first()
    return latest.revision if latest else 1


def moment_said(week: Week, revision: int) -> str:
    """`as Ana left it on Tue 6 Oct, 2:05`: what the week was at a revision, for people."""
    change = WeekChange.objects.filter(week=week, revision=revision).select_related("member").first()
    if change is None or revision == 1:
        return "as it began"
    return f"as {who_said(change)} left it on {said_moment(change.made_at, week.classroom.year)}"
