"""The week of a team on one screen: its classrooms side by side on a day, one classroom's days, or every day in small.

Columns are those of the week's own sheet, drawn on one axis, so that the same time stands at the same height.
"""

import datetime as dt
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from scheduling.minutes.figures import listed
from scheduling.selectors.block_words import needs_said
from scheduling.selectors.clash_words import ClashTold, clashes_told
from scheduling.selectors.column_drawing import Cell, Drawing, SheetColumn
from scheduling.selectors.resource_uses import SchoolUses, school_uses
from scheduling.selectors.sheet_columns import Place, Source, resolved
from scheduling.selectors.team_rooms import TeamRoom, team_rooms
from scheduling.selectors.team_time import Band, CommonTime, bands_on, common_of
from scheduling.selectors.week_rows import Axis, axis_of
from scheduling.selectors.year_days import Day, other_days, usual_days
from scheduling.selectors.year_words import YearWords, capital, day_in_full, day_said, small, year_words
from teamroom.common.clock import said_span
from teamroom.members.models import Classroom, Team

CLASH = "clash"


@dataclass(frozen=True, slots=True)
class RoomHead:
    """A classroom as the head of its column says it: `summary` of its rules, or the next step where it has no week."""

    pk: int
    name: str
    summary: str
    look: str
    week: int
    may_edit: bool
    begins: dt.date | None
    drafted: bool


@dataclass(frozen=True, slots=True)
class TeamColumn:
    """A day of a classroom, and the times that all of the team have on it. `key` is how addresses spell the day."""

    room: RoomHead
    key: str
    column: SheetColumn
    bands: tuple[Band, ...]

    @property
    def id(self) -> str:
        return f"{self.room.pk}-{self.key}"


@dataclass(frozen=True, slots=True)
class TeamDay:
    """A day with a column for each classroom."""

    key: str
    title: str
    kind: str
    columns: tuple[TeamColumn, ...]
    bands: tuple[Band, ...]

    @property
    def across(self) -> int:
        """Columns that stand side by side: the classrooms, and the times all have where there are any."""
        return len(self.columns) + bool(self.bands)


@dataclass(frozen=True, slots=True)
class DayChoice:
    """A day to choose: `key` is how addresses spell it."""

    key: str
    title: str
    full: str
    current: bool


@dataclass(frozen=True)
class TeamWeek:
    """All of it as of a date. Columns are drawn when asked for."""

    team: Team
    words: YearWords
    rooms: Sequence[TeamRoom]
    editable: frozenset[int]
    uses: SchoolUses
    shortest: int

    @property
    def has_weeks(self) -> bool:
        return any(each.week for each in self.rooms)

    @cached_property
    def common(self) -> CommonTime:
        return common_of(self.rooms, self.words, self.shortest)

    @cached_property
    def clashes(self) -> list[ClashTold]:
        """The clashes in which a classroom of the team takes part; the others may be of any team."""
        own = {each.room.pk for each in self.rooms}
        return [told for told in clashes_told(self.uses) if told.rooms & own]

    @cached_property
    def usual(self) -> Mapping[str, str]:
        return usual_days(self.words)

    @cached_property
    def heads(self) -> tuple[RoomHead, ...]:
        return tuple(self._head(each) for each in self.rooms)

    def _head(self, each: TeamRoom) -> RoomHead:
        return RoomHead(
            pk=each.room.pk,
            name=str(each.room),
            summary=each.standing.summary if each.week else "",
            look=each.standing.look,
            week=each.week.pk if each.week else 0,
            may_edit=each.room.pk in self.editable,
            begins=each.begins,
            drafted=each.drafted,
        )

    def usual_choices(self, chosen: Day) -> list[DayChoice]:
        return [self._choice(place, chosen) for place in self.usual.items()]

    def other_choices(self, chosen: Day) -> list[tuple[str, list[DayChoice]]]:
        """The days of another kind than usual that the calendar has, kind by kind."""
        names = dict(self.words.kinds.values())
        found: dict[str, list[DayChoice]] = {}
        for place in other_days(self.words):
            found.setdefault(capital(names[place[1]]), []).append(self._choice(place, chosen))
        return list(found.items())

    def _choice(self, place: Day, chosen: Day) -> DayChoice:
        full = capital(day_in_full(place[0]))
        return DayChoice(self.key_of(place), day_said(place[0]), full, place == chosen)

    def key_of(self, place: Day) -> str:
        """`mon` for the usual Monday, `mon:minimum` for one of another kind."""
        day, kind = place
        return day if self.usual.get(day) == kind else f"{day}:{kind}"

    def chosen_day(self, key: str, on: dt.date) -> Day:
        """The day that a key spells; else the date's own, else the first of the week."""
        known = [*self.usual.items(), *other_days(self.words)]
        named = next((place for place in known if self.key_of(place) == key), None)
        own = next(((day.cycle_day, day.kind) for day in self.words.inputs.year.days if day.date == on), None)
        return named or (own if own in known else None) or known[0]

    def chosen_room(self, asked: str) -> TeamRoom:
        """The classroom asked for by its id, else the first."""
        return next((each for each in self.rooms if str(each.room.pk) == asked), self.rooms[0])

    @cached_property
    def axis(self) -> Axis:
        """From the earliest minute of any classroom to the latest."""
        places = [*self.usual.items(), *other_days(self.words)]
        some = [
            axis_of(self.words, each.bells, each.rows, [self._source(each, place) for place in places])
            for each in self.rooms
        ]
        return Axis(min(axis.first for axis in some), max(axis.last for axis in some))

    def day(self, place: Day) -> TeamDay:
        """One day, a column for each classroom."""
        day, kind = place
        name = dict(self.words.kinds.values())[kind]
        bands, clashing = self._bands(place), self._clashing(place)
        columns = tuple(
            TeamColumn(head, self.key_of(place), self._column(each, place, clashing), bands)
            for head, each in zip(self.heads, self.rooms, strict=True)
        )
        usual = self.usual.get(day) == kind and kind == self.words.kinds[self.words.regular][0]
        return TeamDay(self.key_of(place), capital(day_in_full(day)), "" if usual else small(name), columns, bands)

    def days(self) -> Iterator[TeamDay]:
        """Every usual day."""
        return (self.day(place) for place in self.usual.items())

    def days_of(self, each: TeamRoom) -> tuple[TeamColumn, ...]:
        """One classroom's usual days."""
        head = self._head(each)
        return tuple(
            TeamColumn(head, self.key_of(place), self._column(each, place, self._clashing(place)), self._bands(place))
            for place in self.usual.items()
        )

    def _bands(self, place: Day) -> tuple[Band, ...]:
        return bands_on(self.rooms, place, self.shortest)

    def _source(self, each: TeamRoom, place: Day) -> Source:
        day, kind = place
        present: Collection[Place] = each.rows
        return resolved(day, self._kinds[kind], self.words.regular, present)

    @cached_property
    def _kinds(self) -> dict[str, int]:
        return {key: pk for pk, (key, _) in self.words.kinds.items()}

    @cached_property
    def _holding(self) -> Mapping[int, int]:
        """In how many of the classrooms each team block stands."""
        held = Counter[int]()
        for each in self.rooms:
            held.update({block.together for blocks in each.rows.values() for block in blocks if block.together})
        return held

    def _column(self, each: TeamRoom, place: Day, clashing: Mapping[int, tuple[str, ...]]) -> SheetColumn:
        drawing = Drawing(self.words, each.bells, each.rows, each.credits, self._holding, *self.axis)
        column = drawing.column(self._source(each, place))
        cells = (self._cell(cell, each, clashing) for cell in column.cells)
        return replace(column, cells=tuple(cell for cell in cells if cell.what != "gap" or each.week))

    def _cell(self, cell: Cell, each: TeamRoom, clashing: Mapping[int, tuple[str, ...]]) -> Cell:
        """A cell with what it needs and whom it meets there; said for the classroom, as several stand side by side."""
        holder = self.uses.holders.get(each.room.pk)
        needing = holder.needing.get(cell.pk) if holder else None
        notes = clashing.get(cell.pk, ())
        needs = needs_said(needing.amounts.items(), self.words) if needing else ""
        told = [f"{each.room}: {cell.label}"]
        told += [f"Needs {needs}."] if needs else []
        told += [f"{note}." for note in notes]
        return replace(
            cell,
            label=" ".join(told),
            needs=needs,
            notes=(*cell.notes, *notes),
            state=cell.state or (CLASH if notes else ""),
            tag=cell.tag or (CLASH if notes else ""),
        )

    def _clashing(self, place: Day) -> dict[int, tuple[str, ...]]:
        """By block of that day what it wants at the same time as others, and who they are."""
        rooms = {pk: holder.room for pk, holder in self.uses.holders.items()}
        found: dict[int, tuple[str, ...]] = {}
        for resource in self.words.resources.values():
            for clash in self.uses.clashes(resource, [place]).get(place, ()):
                for use in clash.uses:
                    others = dict.fromkeys(str(rooms[one.place]) for one in clash.uses if one.block != use.block)
                    when = said_span(clash.start, clash.end)
                    said = f"Clash: {resource.name} {when}, {listed(sorted(others))} too"
                    found[use.block] = (*found.get(use.block, ()), said)
        return found


def team_week(team: Team, on: dt.date, editable: Collection[Classroom], shortest: int) -> TeamWeek:
    """The week of a team, by the weeks in effect on a date. `editable` are the classrooms that the reader may
    change; a fixed number of queries, however many classrooms there are."""
    return TeamWeek(
        team=team,
        words=year_words(team.year),
        rooms=team_rooms(team, on),
        editable=frozenset(room.pk for room in editable),
        uses=school_uses(team.year, on),
        shortest=shortest,
    )
