"""Drawing a column of the sheet: its bell, fixed time, blocks and free time, told in words."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from scheduling.minutes.figures import listed
from scheduling.minutes.layout import without
from scheduling.minutes.plan import Bell, FixedStretch
from scheduling.selectors.sheet_columns import Place, Source
from scheduling.selectors.year_words import ActivityWords, YearWords, capital, day_in_full, day_said
from teamroom.common.clock import said_clock, said_span, written_clock
from teamroom.common.wording import counted
from teamroom.dates.calendar_maths import REGULAR

SHORTEST_GAP = 5
TAGS = {"conflict": "overlaps", "outside": "outside the bell", "cut": "cut", "unused": "not used"}
"""A block's state in a word or two, where its note has no room."""


class BlockRow(NamedTuple):
    """A block as the sheet needs it; `asked` while a question on it is open."""

    pk: int
    start: int
    end: int
    activity_id: int
    revision: int
    why: str
    together: int | None = None
    asked: bool = False


Rows = Mapping[Place, list[BlockRow]]
Credits = Mapping[int, list[tuple[int, int]]]
"""A block's credits: activity and minutes."""


class Share(NamedTuple):
    """Minutes an integrated block credits to an activity, and how much of the block's stripe it is."""

    look: str
    name: str
    minutes: int


@dataclass(frozen=True, slots=True)
class Cell:
    """A stretch of a column: a block, fixed time, or free time (`what`), told in words. `rooms` is in how
    many classrooms a change of a team block shows, 0 for any other; `needs` what it needs of what classes
    share, where the drawing is told so."""

    what: str
    id: str
    start: int
    length: int
    name: str
    times: str
    label: str
    look: str = ""
    pk: int = 0
    revision: int = 0
    why: str = ""
    shares: tuple[Share, ...] = ()
    credited: str = ""
    notes: tuple[str, ...] = ()
    state: str = ""
    tag: str = ""
    rooms: int = 0
    starts: str = ""
    ends: str = ""
    needs: str = ""
    asked: bool = False


@dataclass(frozen=True, slots=True)
class SheetColumn:
    """A day of the sheet. `place` is what an edit writes to: a cycle day (or none) and a kind."""

    id: str
    place: str
    title: str
    full: str
    note: str
    bell: str
    opens: int
    closes: int
    cells: tuple[Cell, ...]


class Drawing:
    """Draws columns out of one week's rows."""

    def __init__(
        self,
        words: YearWords,
        bells: Mapping[str, Bell],
        rows: Rows,
        credits: Credits,
        rooms: Mapping[int, int],
        first: int,
        last: int,
    ) -> None:
        self.words, self.bells, self.rows, self.credits, self.rooms = words, bells, rows, credits, rooms
        self.first, self.last = first, last

    def column(self, source: Source) -> SheetColumn:
        kind_key, kind_name = self.words.kinds[source.kind]
        own = self.bells.get(kind_key)
        bell = own or (self.bells.get(REGULAR) if source.plain else None)
        cut_to = own if source.plain else None
        title = day_said(source.day) if source.day else kind_name
        full = day_in_full(source.day) if source.day else kind_name
        blocks = self.rows.get((source.from_day, source.from_kind), [])
        fixed = [f for f in bell.fixed if f.days is None or not source.day or source.day in f.days] if bell else []
        cells = [self._block(source, full, block, bell, fixed, cut_to) for block in blocks]
        taken = [(block.start, block.end) for block in blocks]
        cells += [self._fixed(source, full, stretch) for stretch in fixed]
        cells += self._gaps(source, full, bell, [*taken, *((f.start, f.end) for f in fixed)])
        cells.sort(key=lambda cell: (cell.start, cell.what == "block"))
        return SheetColumn(
            id=source.id,
            place=source.place,
            title=title,
            full=capital(full),
            note=self._note(source, kind_key, kind_name, own),
            bell=said_span(bell.start, bell.dismissal) if bell else "No bell schedule",
            opens=bell.start if bell else self.first,
            closes=bell.dismissal if bell else self.last,
            cells=tuple(cells),
        )

    def _note(self, source: Source, kind_key: str, kind_name: str, own: Bell | None) -> str:
        if source.plain:
            cut = f", cut at {said_clock(own.dismissal)}" if own else ""
            day = day_in_full(source.day)
            return f"{kind_name}: {capital(day)}\N{RIGHT SINGLE QUOTATION MARK}s regular column{cut}"
        if not source.from_day:
            return f"{kind_name}: its own column" if source.day else "Whatever the day"
        return "" if kind_key == REGULAR and source.id == source.day else kind_name

    def _block(
        self,
        source: Source,
        full: str,
        block: BlockRow,
        bell: Bell | None,
        fixed: list[FixedStretch],
        cut_to: Bell | None,
    ) -> Cell:
        activity = self.words.activities[block.activity_id]
        length = block.end - block.start
        shares = self._shares(block)
        notes, state = self._notes(block, bell, fixed, cut_to)
        told = [f"{activity.name}, {full} {said_clock(block.start)} to {said_clock(block.end)}, {length} minutes."]
        credited = listed([f"{share.name} {share.minutes}" for share in shares])
        rooms = self.rooms.get(block.together or 0, 0)
        told += [f"Team block, in {counted(rooms, 'classroom')}."] if rooms else []
        told += [f"Credits {credited}."] if credited else []
        told += [f"{note}." for note in notes]
        told += ["A question on it is open."] if block.asked else []
        told += [f"Why: {block.why}"] if block.why else []
        return Cell(
            what="block",
            id=f"{source.id}-b{block.pk}",
            start=block.start,
            length=length,
            name=activity.name,
            times=said_span(block.start, block.end),
            label=" ".join(told),
            look="shared" if shares else activity.look,
            pk=block.pk,
            revision=block.revision,
            why=block.why,
            shares=shares,
            credited=credited,
            notes=notes,
            state=state,
            tag=TAGS.get(state, ""),
            rooms=rooms,
            asked=block.asked,
        )

    def _shares(self, block: BlockRow) -> tuple[Share, ...]:
        found = self.credits.get(block.pk, ())
        named: list[tuple[ActivityWords, int]] = [(self.words.activities[pk], minutes) for pk, minutes in found]
        return tuple(Share(activity.look, activity.name, minutes) for activity, minutes in named)

    def _notes(
        self, block: BlockRow, bell: Bell | None, fixed: list[FixedStretch], cut_to: Bell | None
    ) -> tuple[tuple[str, ...], str]:
        """What is to be said of a block's place, and its state: cut, conflict, outside, or none."""
        clash = [
            f"takes {min(block.end, f.end) - max(block.start, f.start)} minutes of "
            f"{self.words.by_key[f.activity].name}, which the school fixes at {said_span(f.start, f.end)}"
            for f in fixed
            if f.start < block.end and f.end > block.start
        ]
        if clash:
            return tuple(capital(text) for text in clash), "conflict"
        if bell is None:
            return (), ""
        kept = min(block.end, bell.dismissal) - max(block.start, bell.start)
        if cut_to is not None and kept < block.end - block.start:
            return (("Not used on this kind of day",) if kept <= 0 else (f"Cut to {kept} minutes",)), (
                "unused" if kept <= 0 else "cut"
            )
        notes = []
        if block.start < bell.start:
            notes.append(f"Starts before the bell at {said_clock(bell.start)}")
        if block.end > bell.dismissal:
            notes.append(f"Ends after dismissal at {said_clock(bell.dismissal)}")
        return tuple(notes), "outside" if notes else ""

    def _fixed(self, source: Source, full: str, stretch: FixedStretch) -> Cell:
        name = self.words.by_key[stretch.activity].name
        return Cell(
            what="fixed",
            id=f"{source.id}-f{stretch.start}",
            start=stretch.start,
            length=stretch.end - stretch.start,
            name=name,
            times=said_span(stretch.start, stretch.end),
            label=f"{name}, {full} {said_clock(stretch.start)} to {said_clock(stretch.end)}, fixed by the school.",
        )

    def _gaps(self, source: Source, full: str, bell: Bell | None, taken: list[tuple[int, int]]) -> Iterator[Cell]:
        day = (bell.start, bell.dismissal) if bell else (self.first, self.last)
        for start, end in without(day, taken):
            if end - start >= SHORTEST_GAP:
                yield Cell(
                    what="gap",
                    id=f"{source.id}-g{start}",
                    start=start,
                    length=end - start,
                    name="Free",
                    times=said_span(start, end),
                    label=f"Free, {full} {said_clock(start)} to {said_clock(end)}, {end - start} minutes.",
                    starts=written_clock(start),
                    ends=written_clock(end),
                )
