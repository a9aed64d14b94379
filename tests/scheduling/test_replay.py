"""From an empty week its records lead to what it is, whatever was done to it; and backwards from it to nothing."""

import datetime as dt
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.db import connection, transaction
from hypothesis import given
from hypothesis import strategies as st

from scheduling import access
from scheduling.access import block_for_editing, week_for_editing
from scheduling.models import Block, Fitting, SharedResource, Week, WeekChange
from scheduling.services import day_kinds, fittings, sheet_weeks, undoing, week_versions, weeks
from scheduling.services.block_writing import placing_of
from scheduling.services.restoring import records, restore, state_at
from scheduling.services.week_edits import Edit
from scheduling.spreadsheets.reading import read_file
from scheduling.week_replay import differing, replayed, unwound
from teamroom.dates.calendar_maths import Cycle
from teamroom.dates.models import SchoolYear
from teamroom.demo.load import demo_document, load_demo
from teamroom.school_file.checking import sound_document
from teamroom.school_file.dumping import document_of
from teamroom.school_file.loading import load
from tests import factories as make
from tests.access_rows.fittings import way_of
from tests.together.checking import faults, standing

BLOCK = st.integers(1, 6)
STATE = st.dictionaries(BLOCK, st.sampled_from(["mon", "tue"]))


def kept(state: dict[int, str]) -> dict[int, dict[str, Any]]:
    return {block: {"block": block, "day": day} for block, day in state.items()}


def between(before: dict[int, dict[str, Any]], after: dict[int, dict[str, Any]]) -> tuple[list[Any], list[Any]]:
    gone, there = differing(before, after)
    return list(gone.values()), [{**one, "new_column": True} for one in there.values()]


@given(st.lists(STATE, max_size=8))
def test_records_between_states_lead_from_empty_to_the_last_and_back(states: list[dict[int, str]]) -> None:
    seen = [{}, *map(kept, states)]
    told = [between(before, after) for before, after in zip(seen, seen[1:], strict=False)]
    for place, state in enumerate(seen):
        assert replayed(told[:place]) == state
        assert unwound(told[place:], seen[-1]) == state


@given(STATE, STATE)
def test_what_differs_is_all_that_does(one: dict[int, str], other: dict[int, str]) -> None:
    gone, there = differing(kept(one), kept(other))
    same = kept(one).keys() - gone.keys()
    assert {**{pk: kept(one)[pk] for pk in same}, **there} == kept(other)
    assert all(kept(other)[pk] == kept(one)[pk] for pk in same)


class Town:
    """A classroom with two blocks, its teacher, and verbs that take no arguments."""

    def __init__(self, *, shares: bool = True) -> None:
        self.year = make.make_year()
        self.classroom = make.make_classroom(self.year)
        self.ana = make.make_teacher(self.classroom, "Ana")
        lab = SharedResource.objects.create(year=self.year, key="lab", name="Lab")
        make.begin(self.year)
        self.week = make.make_week(self.classroom)
        make.add(self.week, self.ana, ("mon", "08:00", "09:00", "math"), ("tue", "08:00", "09:00", "science"))
        self.change("tue", uses=((lab.pk, 1),)) if shares else None

    @transaction.atomic
    def verb(self, day: str, deed: Callable[[Block], Edit]) -> None:
        deed(block_for_editing(self.ana, Block.objects.get(column__day=day, column__week=self.week).pk))

    def change(self, day: str, **changed: Any) -> None:
        def deed(block: Block) -> Edit:
            placing = placing_of(block, **changed)
            return weeks.change_block(block, member=self.ana, revision=block.revision, placing=placing)

        self.verb(day, deed)

    def move(self) -> None:
        to = {"day": "wed", "kind": self.year.day_kinds.get(key="minimum").pk, "start": 600, "end": 630}
        self.verb("tue", lambda block: weeks.move_block(block, member=self.ana, revision=block.revision, **to))  # type: ignore[arg-type]  # as said

    def split(self) -> None:
        self.verb("tue", lambda b: weeks.split_block(b, member=self.ana, revision=b.revision, at=510))

    def remove(self) -> None:
        self.verb("mon", lambda b: weeks.remove_block(b, member=self.ana, revision=b.revision))

    def undo(self) -> None:
        undoing.undo(week_for_editing(self.ana, self.week.pk), member=self.ana)

    def redo(self) -> None:
        self.undo()
        undoing.redo(week_for_editing(self.ana, self.week.pk), member=self.ana)

    def put_back(self) -> None:
        restore(week_for_editing(self.ana, self.week.pk), member=self.ana, revision=2)

    def copy(self) -> None:
        week_versions.start_week(week_for_editing(self.ana, self.week.pk), starts=dt.date(2026, 10, 5))

    def from_sheet(self) -> None:
        room = access.classroom_for_editing(self.ana, self.classroom.pk)
        read = read_file(b"Day,Time,Class\nMon,8:15-9:00,Math\nTue,9:00-9:30,Art\n")
        sent = sheet_weeks.keep_sent(room, read, member=self.ana, file_name="week.csv")
        placings = [make.placing(self.year, "mon", "08:15", "09:00", "math", why="early")]
        placings.append(make.placing(self.year, "tue", "09:00", "09:30", "art"))
        told = sheet_weeks.SheetWeek(placings, {})
        sheet_weeks.draft_from_sheet(sent, told, starts=dt.date(2026, 10, 5), member=self.ana)

    def fit(self) -> None:
        fitting = Fitting.objects.create(
            classroom=access.classroom_for_editing(self.ana, self.classroom.pk),
            kind="mend",
            source=self.week,
            starts=self.week.starts,
            asked={},
            state="done",
            ways=[way_of(self.week)],
        )
        fittings.take(fitting, way=0, member=self.ana)

    def both_weeks(self) -> None:
        day_kinds.set_cycle(self.year, Cycle("alternating weeks"))

    def load_again(self) -> None:
        load(document_of(SchoolYear.objects.get(pk=self.year.pk)))


DEEDS = ["move", "split", "remove", "undo", "redo", "put_back", "copy", "from_sheet", "fit", "both_weeks", "load_again"]


def leads_to_what_it_is(week: Week) -> None:
    """Held against the rows as the tests read them, and every record against what stood before it."""
    assert state_at(week, week.revision) == standing(week)
    assert unwound(records(week, week.revision), standing(week)) == {}


@pytest.mark.django_db
@pytest.mark.parametrize("deed", DEEDS)
def test_after_each_deed_the_records_lead_to_the_week(deed: str, tmp_path: Path, settings: Any) -> None:
    settings.DATA_DIR = tmp_path
    town = Town()
    with transaction.atomic():
        getattr(town, deed)()
    found = Week.objects.filter(classroom__year__school=town.year.school_id)
    assert found.exists()
    for week in found:
        assert standing(week)
        leads_to_what_it_is(week)
    assert faults(SchoolYear.objects.get(pk=town.year.pk)) == []


@pytest.mark.django_db
def test_after_both_weeks_and_a_copy_a_week_goes_on_and_back(settings: Any, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path
    town = Town()
    with transaction.atomic():
        town.both_weeks()
    with transaction.atomic():
        town.change("A-mon", end=600)
        town.copy()
        town.undo()
    for week in Week.objects.all():
        leads_to_what_it_is(week)
    assert faults(SchoolYear.objects.get(pk=town.year.pk)) == []


@pytest.mark.django_db
def test_the_demo_school_begins_with_records(settings: Any, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path
    load_demo()
    found = list(Week.objects.all())
    assert len(found) > 3
    for week in found:
        leads_to_what_it_is(week)
    assert WeekChange.objects.filter(revision=1, member=None).count() == len(found)


# What weeks of before this lack

migration = import_module("scheduling.migrations.0007_first_records")


def as_before(*, gap: bool = False) -> dict[int, list[tuple[Any, ...]]]:
    """Take the records away that nobody wrote in earlier versions; gives what the rest were."""
    deeds = ["copy", "load"] + (["both weeks"] if gap else [])
    taken = WeekChange.objects.filter(deed__in=deeds)
    assert taken.exists()
    was = {week.pk: list(records(week, week.revision)) for week in Week.objects.all()}
    taken.delete()
    return was


@pytest.mark.django_db
def test_weeks_without_a_first_record_are_given_one_worked_out_backwards(settings: Any, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path
    document = demo_document()
    # Nothing was shared yet in the versions that left records out.
    for column in (column for week in document["weeks"] for column in week["columns"]):
        column["blocks"] = [
            {key: value for key, value in block.items() if key not in ("uses", "team_block")}
            for block in column["blocks"]
        ]
    load(sound_document(document))
    week = Week.objects.filter(changes__isnull=False).order_by("pk")[0]
    ana = make.make_teacher(week.classroom, "Ana")
    with transaction.atomic():
        block = block_for_editing(ana, Block.objects.filter(column__week=week).order_by("pk")[0].pk)
        weeks.remove_block(block, member=ana, revision=block.revision)
    empty = make.make_week(make.make_classroom(week.classroom.year, "empty", tuple(week.classroom.grades)))
    was = as_before()
    first = WeekChange.objects.get(week=week)
    WeekChange.objects.filter(pk=first.pk).update(made_at=dt.datetime(2026, 1, 5, tzinfo=dt.UTC))
    with connection.schema_editor() as editor:
        migration.write_first_records(apps, editor)
    for each in Week.objects.all():
        leads_to_what_it_is(each)
        by_block = [[sorted(side, key=lambda kept: kept["block"]) for side in record] for record in was[each.pk]]
        assert [list(record) for record in records(each, each.revision)] == by_block
    assert not WeekChange.objects.filter(week=empty).exists()
    # It is no younger than the edits after it.
    assert WeekChange.objects.get(week=week, revision=1).made_at.year == 2026
    assert WeekChange.objects.get(week=week, revision=1).made_at.month == 1


@pytest.mark.django_db
def test_a_revision_nobody_recorded_is_given_its_record_too() -> None:
    # Nothing was shared yet in the versions that left records out.
    town = Town(shares=False)
    with transaction.atomic():
        town.both_weeks()
    with transaction.atomic():
        town.change("B-mon", end=600)
    as_before(gap=True)
    with connection.schema_editor() as editor:
        migration.write_first_records(apps, editor)
    week = Week.objects.get()
    leads_to_what_it_is(week)
    assert faults(SchoolYear.objects.get(pk=town.year.pk)) == []
    assert {kept["day"] for kept in state_at(week, 3).values()} == {"mon", "tue"}


@pytest.mark.django_db
def test_the_migration_writes_nothing_twice(settings: Any, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path
    load_demo()
    before = WeekChange.objects.count()
    with connection.schema_editor() as editor:
        migration.write_first_records(apps, editor)
    assert WeekChange.objects.count() == before
