"""The dump's bell schedules, weeks and day changes: a fixed number of queries, however many rows."""

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from scheduling.models import BellSchedule, Block, BlockCredit, BlockUse, Column, DayChange, Week
from teamroom.common.clock import written_clock
from teamroom.dates.calendar_maths import REGULAR
from teamroom.dates.models import SchoolYear
from teamroom.school_file.canonical import given
from teamroom.school_file.form import Document

Keys = Mapping[int, str]
"""Keys of the file by the row's id."""


def bell_schedules(year: SchoolYear, activities: Keys, kinds: Keys) -> list[Document]:
    """Bell schedules, the grades whose hours and fixed stretches are the same together."""
    grades: dict[str, list[str]] = {}
    contents: dict[str, Document] = {}
    for bell in BellSchedule.objects.filter(year=year).order_by("pk").prefetch_related("fixed"):
        content = given(
            kind=kinds[bell.kind_id] if kinds[bell.kind_id] != REGULAR else None,
            start=written_clock(bell.start),
            dismissal=written_clock(bell.dismissal),
            fixed=[
                given(
                    activity=activities[stretch.activity_id],
                    start=written_clock(stretch.start),
                    end=written_clock(stretch.end),
                    days=stretch.days,
                )
                for stretch in sorted(bell.fixed.all(), key=lambda stretch: stretch.pk)
            ],
        )
        contents[repr(content)] = content
        grades.setdefault(repr(content), []).append(bell.grade)
    return [{"grades": grades[same], **content} for same, content in contents.items()]


def weeks(year: SchoolYear, activities: Keys, kinds: Keys) -> list[Document]:
    blocks = _blocks(year, activities)
    columns: dict[int, list[Document]] = defaultdict(list)
    rows = Column.objects.filter(week__classroom__year=year).order_by("pk")
    for pk, week, day, kind in rows.values_list("pk", "week_id", "day", "kind_id"):
        # A plain column is of the regular kind without saying so; one without a day must say it.
        named = None if day and kinds[kind] == REGULAR else kinds[kind]
        columns[week].append(given(day=day, kind=named, blocks=blocks.get(pk)))
    found = Week.objects.filter(classroom__year=year).order_by("pk")
    return [
        given(
            **{"classroom": classroom, "from": starts.isoformat()},
            draft=draft or None,
            # A week put in effect keeps the name it had, and says it when it is a draft again.
            draft_name=name if draft else None,
            columns=columns.get(pk),
        )
        for pk, classroom, starts, draft, name in found.values_list(
            "pk", "classroom__key", "starts", "draft", "draft_name"
        )
    ]


def _blocks(year: SchoolYear, activities: Keys) -> dict[int, list[Document]]:
    """The blocks of each column, by its id."""
    credits: dict[int, list[Document]] = defaultdict(list)
    credit_rows = BlockCredit.objects.filter(block__column__week__classroom__year=year).order_by("block", "place")
    for block, activity, minutes in credit_rows.values_list("block_id", "activity_id", "minutes"):
        credits[block].append({"activity": activities[activity], "minutes": minutes})
    uses: dict[int, list[Document]] = defaultdict(list)
    use_rows = BlockUse.objects.filter(block__column__week__classroom__year=year).order_by("block", "resource")
    for block, resource, amount in use_rows.values_list("block_id", "resource__key", "amount"):
        uses[block].append(given(resource=resource, amount=amount if amount != 1 else None))
    team_blocks = _team_blocks(year)
    blocks: dict[int, list[Document]] = defaultdict(list)
    rows = Block.objects.filter(column__week__classroom__year=year).order_by("pk")
    for pk, column, start, end, activity, why, together in rows.values_list(
        "pk", "column_id", "start", "end", "activity_id", "why", "together_id"
    ):
        found = given(
            start=written_clock(start),
            end=written_clock(end),
            activity=activities[activity],
            why=why,
            credits=credits.get(pk),
            uses=uses.get(pk),
            team_block=team_blocks.get(together),
        )
        blocks[column].append(found)
    return blocks


def _team_blocks(year: SchoolYear) -> dict[int | None, str]:
    """The file's keys of team blocks by their ids, in the order in which the file comes to them."""
    held = Block.objects.filter(column__week__classroom__year=year, together__isnull=False)
    in_order = held.order_by("column__week", "column", "pk").values_list("together_id", flat=True)
    return {pk: f"team-block-{n}" for n, pk in enumerate(dict.fromkeys(in_order), start=1)}


def day_changes(year: SchoolYear, activities: Keys) -> list[Document]:
    rows = DayChange.objects.filter(year=year).order_by("pk").prefetch_related("classrooms", "teams", "credits")
    return [_day_change(row, activities) for row in rows]


def _day_change(row: DayChange, activities: Keys) -> Document:
    times: dict[str, Any] = {"closed": True}
    if not row.closed:
        times = {"from": written_clock(row.start), "to": written_clock(row.end)}
    return given(
        date=row.date.isoformat(),
        classrooms=[room.key for room in sorted(row.classrooms.all(), key=lambda room: room.pk)],
        teams=[team.key for team in sorted(row.teams.all(), key=lambda team: team.pk)],
        name=row.name,
        **times,
        credits=[
            {"activity": activities[credit.activity_id], "minutes": credit.minutes} for credit in row.credits.all()
        ],
    )
