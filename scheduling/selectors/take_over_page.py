"""The weeks that somebody could start from: of every classroom of the school that they may read, of any year."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from scheduling.models import Block, Week
from scheduling.selectors.sides import room_said
from scheduling.selectors.week_sheet import version_said
from scheduling.selectors.weeks_in_effect import weeks_in_effect
from scheduling.selectors.year_words import YearWords, day_in_full, year_words
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, Member
from teamroom.members.selectors.readable import readable_in
from teamroom.members.selectors.roles_held import roles_in_year
from teamroom.members.selectors.team_sheet import teachers_said
from teamroom.members.selectors.years import all_years_of


@dataclass(frozen=True, slots=True)
class RoomLine:
    """A classroom whose week may be taken over, with its versions, the newest first; `same_grade` as one's own."""

    name: str
    teachers: str
    weeks: tuple[tuple[int, str], ...]
    same_grade: bool


@dataclass(frozen=True, slots=True)
class YearLines:
    name: str
    rooms: tuple[RoomLine, ...]


@dataclass(frozen=True)
class SourceTold:
    """A week chosen to start from: whose, what is in it, and how many of its blocks say why they are there."""

    week: Week
    room: str
    said: str
    teachers: str
    days: tuple[tuple[str, str], ...]
    activities: tuple[tuple[str, str], ...]
    blocks: int
    reasons: int


def weeks_to_start_from(classroom: Classroom, member: Member) -> list[YearLines]:
    """By year, the newest first; classrooms of one's own grade before the others. Five queries a year."""
    years = all_years_of(member).filter(school=classroom.year.school_id).order_by("-first_day")
    return [lines for year in years if (lines := _year(year, classroom, member)).rooms]


def source_told(week: Week) -> SourceTold:
    """Three queries more than the year's words."""
    words, room = year_words(week.classroom.year), week.classroom
    blocks = Block.objects.filter(column__week=week)
    days = {day for day in blocks.values_list("column__day", flat=True).distinct() if day}
    keys = set(blocks.values_list("activity__key", flat=True).distinct())
    return SourceTold(
        week=week,
        room=str(room),
        said=version_said(week),
        teachers=teachers_said(room.year).get(room.pk, ""),
        days=tuple((day, day_in_full(day)) for day in words.cycle.day_names if day in days),
        activities=tuple((key, one.name) for key, one in words.by_key.items() if key in keys),
        blocks=blocks.count(),
        reasons=blocks.exclude(why="").count(),
    )


def _year(year: SchoolYear, classroom: Classroom, member: Member) -> YearLines:
    readable = readable_in(year, member, frozenset(roles_in_year(member, year)))
    rooms = Classroom.objects.filter(year=year, retired=False).select_related("year", "team").order_by("name", "pk")
    mine = [room for room in rooms if room in readable and room.pk != classroom.pk]
    weeks = Week.objects.filter(classroom__in=mine, draft=False).select_related("drafted_by").order_by("-starts")
    by_room: dict[int, list[tuple[int, str]]] = {}
    for week in weeks:
        by_room.setdefault(week.classroom_id, []).append((week.pk, version_said(week)))
    teachers = teachers_said(year)
    lines = [
        RoomLine(
            name=room_said(room),
            teachers=teachers.get(room.pk, ""),
            weeks=tuple(by_room[room.pk]),
            same_grade=bool(set(room.grades) & set(classroom.grades)),
        )
        for room in mine
        if room.pk in by_room
    ]
    return YearLines(year.name, tuple(sorted(lines, key=lambda line: not line.same_grade)))


def named(keys: Iterable[str], words: YearWords) -> list[tuple[str, str]]:
    """Activities with their names, by name."""
    return sorted(((key, words.by_key[key].name) for key in keys if key in words.by_key), key=lambda one: one[1])


def rooms_beside(classroom: Classroom, member: Member, on: dt.date) -> list[tuple[str, str]]:
    """The weeks of the other classrooms of the year that a member may read, in effect on a date, by their rooms."""
    readable = readable_in(classroom.year, member, frozenset(roles_in_year(member, classroom.year)))
    weeks = weeks_in_effect(Classroom.objects.filter(year=classroom.year, retired=False), on)
    found = Week.objects.filter(pk__in=weeks.values("pk")).select_related("classroom__team")
    return [
        (str(week.pk), str(week.classroom))
        for week in found.order_by("classroom__name", "classroom")
        if week.classroom in readable and week.classroom_id != classroom.pk
    ]
