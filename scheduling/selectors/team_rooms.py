"""The classrooms of a team with the week each has in effect on a date: what the team's week is drawn and worked
out from. A fixed number of queries, however many classrooms."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from scheduling.minutes.layout import Columns, Piece, lay_out
from scheduling.minutes.plan import Bell, Block, Credit
from scheduling.models import Week
from scheduling.selectors.column_drawing import Credits, Rows
from scheduling.selectors.home_page import Standing, rule_standings
from scheduling.selectors.specialists import posts_in, reached
from scheduling.selectors.week_rows import credits_of, rows_of
from scheduling.selectors.year_days import Day
from scheduling.selectors.year_words import YearWords, year_words
from scheduling.specialist_day import Span
from teamroom.members.models import Classroom, Team


@dataclass(frozen=True)
class TeamRoom:
    """A classroom of the team. Without a `week` on the date, `begins` is when its first later one does, and
    `drafted` whether it has a draft."""

    words: YearWords
    room: Classroom
    week: Week | None
    begins: dt.date | None
    drafted: bool
    rows: Rows
    credits: Credits
    standing: Standing
    freeing: frozenset[str]

    @property
    def bells(self) -> Mapping[str, Bell]:
        """By the key of the day kind: those of its first grade, as everywhere."""
        return self.words.inputs.bells.get(self.room.grades[0], {})

    @cached_property
    def columns(self) -> Columns:
        """Its week as the counting takes it."""
        keys, kinds = self.words.inputs.activities, self.words.inputs.day_kinds
        return {
            (day or None, kinds[kind]): tuple(
                Block(
                    block.start,
                    block.end,
                    keys[block.activity_id],
                    tuple(Credit(keys[activity], minutes) for activity, minutes in self.credits.get(block.pk, ())),
                    key=block.pk,
                )
                for block in blocks
            )
            for (day, kind), blocks in self.rows.items()
        }

    def pieces(self, place: Day) -> Sequence[Piece]:
        """The stretches of a cycle day of a kind (its key), blocks and fixed time."""
        day, kind = place
        return lay_out(self.columns, self.bells, (), cycle_day=day, kind=kind)

    def freed(self, place: Day) -> list[Span]:
        """When somebody else has the class: stretches that credit nothing but activities that free its teachers."""
        return [
            (piece.start, piece.end)
            for piece in self.pieces(place)
            if piece.credits and all(credit.activity in self.freeing for credit in piece.credits)
        ]


def team_rooms(team: Team, on: dt.date) -> list[TeamRoom]:
    """The team's classrooms that are in use, by name."""
    words = year_words(team.year)
    rooms = list(team.classrooms.filter(retired=False).order_by("name", "key"))
    weeks = _weeks(rooms)
    in_effect = {pk: _in_effect(some, on) for pk, some in weeks.items()}
    held = [week.pk for week in in_effect.values() if week]
    rows, credits = rows_of(held), credits_of(held)
    standings, freeing = rule_standings(rooms), _freeing(team, rooms, words)
    return [
        TeamRoom(
            words=words,
            room=room,
            week=week,
            begins=next((one.starts for one in weeks[room.pk] if not one.draft and one.starts > on), None),
            drafted=any(one.draft for one in weeks[room.pk]),
            rows=rows[week.pk] if week else {},
            credits=credits,
            standing=standings[room.pk],
            freeing=freeing[room.pk],
        )
        for room in rooms
        for week in [in_effect.get(room.pk)]
    ]


def _weeks(rooms: Sequence[Classroom]) -> dict[int, list[Week]]:
    """Each classroom's weeks and drafts in order of their dates."""
    by_pk = {room.pk: room for room in rooms}
    weeks: dict[int, list[Week]] = defaultdict(list)
    for week in Week.objects.filter(classroom__in=rooms).order_by("starts", "pk"):
        week.classroom = by_pk[week.classroom_id]
        weeks[week.classroom_id].append(week)
    return weeks


def _in_effect(weeks: Sequence[Week], on: dt.date) -> Week | None:
    return next((week for week in reversed(weeks) if not week.draft and week.starts <= on), None)


def _freeing(team: Team, rooms: Sequence[Classroom], words: YearWords) -> dict[int, frozenset[str]]:
    """By classroom the activities during which somebody else has it: those that always free the teacher, and
    those of the specialists' posts that reach it."""
    keys = words.inputs.activities
    always = frozenset(team.year.activities.filter(frees_teacher=True).values_list("key", flat=True))
    taught = reached(posts_in(team.year), rooms)
    return {room.pk: always | {keys[activity] for activity in taught.get(room, ())} for room in rooms}


def planned(rooms: Sequence[TeamRoom]) -> Iterator[TeamRoom]:
    """Those with a week on the date."""
    return (room for room in rooms if room.week)
