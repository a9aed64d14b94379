"""A sound document's weeks and day changes as rows: the many rows of a file, inserted in bulk."""

from scheduling.models import (
    Block,
    BlockCredit,
    BlockUse,
    Column,
    DayChange,
    DayChangeCredit,
    TeamBlock,
    Week,
)
from scheduling.services.day_changes import write_reach
from scheduling.services.week_records import record
from teamroom.common.clock import minutes_of
from teamroom.dates.calendar_maths import REGULAR
from teamroom.members.models import Classroom
from teamroom.school_file.form import Document
from teamroom.school_file.meaning.ground import date_in
from teamroom.school_file.rows import Rows

AT_A_TIME = 5000


def insert_weeks(rows: Rows, document: Document) -> None:
    weeks: list[Week] = []
    columns: list[Column] = []
    blocks: list[Block] = []
    credits: list[BlockCredit] = []
    uses: list[BlockUse] = []
    team_blocks: dict[str, TeamBlock] = {}
    for written in document.get("weeks", ()):
        week = _week(rows, written)
        weeks.append(week)
        for written_column in written.get("columns", ()):
            kind = rows.kinds[written_column.get("kind", REGULAR)]
            column = Column(week=week, day=written_column.get("day", ""), kind=kind)
            columns.append(column)
            for written_block in written_column.get("blocks", ()):
                block = _block(rows, column, written_block)
                if "team_block" in written_block:
                    held = TeamBlock(team=week.classroom.team)
                    block.together = team_blocks.setdefault(written_block["team_block"], held)
                blocks.append(block)
                credits += _credits(rows, block, written_block)
                uses += _uses(rows, block, written_block)
    Week.objects.bulk_create(weeks, batch_size=AT_A_TIME)
    Column.objects.bulk_create(columns, batch_size=AT_A_TIME)
    TeamBlock.objects.bulk_create(team_blocks.values(), batch_size=AT_A_TIME)
    Block.objects.bulk_create(blocks, batch_size=AT_A_TIME)
    BlockCredit.objects.bulk_create(credits, batch_size=AT_A_TIME)
    BlockUse.objects.bulk_create(uses, batch_size=AT_A_TIME)
    record(weeks, "load", "Loaded from a school file")


def _week(rows: Rows, written: Document) -> Week:
    return Week(
        classroom=rows.classrooms[written["classroom"]],
        starts=date_in(written["from"]),
        draft=written.get("draft", False),
        draft_name=written.get("draft_name", ""),
    )


def _block(rows: Rows, column: Column, written: Document) -> Block:
    return Block(
        column=column,
        start=minutes_of(written["start"]),
        end=minutes_of(written["end"]),
        activity=rows.activities[written["activity"]],
        why=written.get("why", ""),
    )


def _credits(rows: Rows, block: Block, written: Document) -> list[BlockCredit]:
    return [
        BlockCredit(block=block, place=place, activity=rows.activities[credit["activity"]], minutes=credit["minutes"])
        for place, credit in enumerate(written.get("credits", ()))
    ]


def _uses(rows: Rows, block: Block, written: Document) -> list[BlockUse]:
    return [
        BlockUse(block=block, resource=rows.resources[use["resource"]], amount=use.get("amount", 1))
        for use in written.get("uses", ())
    ]


def insert_day_changes(rows: Rows, document: Document) -> None:
    """Day changes with their credits and scopes, and the classrooms each reaches."""
    written = document.get("day_changes", ())
    changes = [_day_change(rows, change) for change in written]
    DayChange.objects.bulk_create(changes)
    DayChangeCredit.objects.bulk_create(
        DayChangeCredit(
            day_change=change, place=place, activity=rows.activities[credit["activity"]], minutes=credit["minutes"]
        )
        for change, source in zip(changes, written, strict=True)
        for place, credit in enumerate(source.get("credits", ()))
    )
    for_classrooms, for_teams = DayChange.classrooms.through, DayChange.teams.through
    for_classrooms.objects.bulk_create(
        for_classrooms(daychange=change, classroom=rows.classrooms[key])
        for change, source in zip(changes, written, strict=True)
        for key in dict.fromkeys(source.get("classrooms", ()))
    )
    for_teams.objects.bulk_create(
        for_teams(daychange=change, team=rows.teams[key])
        for change, source in zip(changes, written, strict=True)
        for key in dict.fromkeys(source.get("teams", ()))
    )
    write_reach((change, _reached(rows, source)) for change, source in zip(changes, written, strict=True))


def _reached(rows: Rows, written: Document) -> list[Classroom]:
    """The classrooms a change is for: those named and those of named teams; of the school if none."""
    named, teams = set(written.get("classrooms", ())), set(written.get("teams", ()))
    rooms = rows.classrooms.values()
    if not named and not teams:
        return list(rooms)
    return [room for room in rooms if room.key in named or room.team.key in teams]


def _day_change(rows: Rows, written: Document) -> DayChange:
    change = DayChange(
        year=rows.year, date=date_in(written["date"]), name=written["name"], closed=written.get("closed", False)
    )
    if not change.closed:
        change.start, change.end = minutes_of(written["from"]), minutes_of(written["to"])
    return change
