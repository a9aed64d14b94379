"""A week written as a spreadsheet and read again is the same week; and no sheet at all brings the reader down."""

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from scheduling.spreadsheets.days import Days
from scheduling.spreadsheets.found import Entry
from scheduling.spreadsheets.guessing import overlaps, understood
from scheduling.spreadsheets.reading import read_file
from scheduling.spreadsheets.sheet import Sheet, Span
from scheduling.spreadsheets.times import DAY
from scheduling.spreadsheets.writing import SHAPES, written
from tests.spreadsheets.sheets import WEEK

KINDS = ("csv", "xlsx")
DAYS = Days(
    [(key, name) for key, name in WEEK.names.items()],
    [("wed:minimum", "Wednesday, when it is a minimum day"), (":minimum", "Every minimum day")],
)
# Among them what spreadsheets run, what looks like a mark or a heading, and letters of all sorts.
WORDS = st.one_of(
    st.sampled_from(
        ["Math", "Reading", "=1+1", "+1 Art", "-Lab", "@Gym", "'quoted", "'=x", "8:15", "Monday", "Time", "#N/A"]
    ),
    st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=2, max_size=12).filter(
        lambda text: text != "''"
    ),
)
WHYS = st.one_of(
    st.just(""), st.sampled_from(["=cmd|' /C calc'!A0", "the lab is ours\n\n- on Mondays", "a; b, c\td"]), WORDS
)


@st.composite
def weeks(draw: st.DrawFn) -> list[Entry]:
    """Blocks of any length at any time of day, side by side as often as not, none overlapping."""
    told: list[Entry] = []
    for day in draw(st.lists(st.sampled_from(list(DAYS.names)), min_size=1, max_size=4, unique=True)):
        edges = sorted(
            draw(
                st.sets(
                    st.one_of(st.integers(0, DAY), st.integers(96, 180).map(lambda n: n * 5)), min_size=2, max_size=7
                )
            )
        )
        for start, end in zip(edges, edges[1:], strict=False):
            if draw(st.booleans()) or not told:
                why = draw(WHYS).replace("\t", " ")
                told.append(Entry(day, start, end, draw(WORDS), why))
    return told


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("shape", SHAPES)
@settings(max_examples=60, deadline=None)
@given(week=weeks())
def test_what_is_written_and_read_again_is_the_same_week(shape: str, kind: str, week: list[Entry]) -> None:
    read = read_file(written(week, DAYS, shape, kind))
    found = understood(read.sheets[0], DAYS, {})
    assert found.faults == ()
    assert found.shape == shape
    assert _alike(found.entries, week)
    assert overlaps(found.entries, DAYS) == []


def _alike(found: tuple[Entry, ...], week: list[Entry]) -> bool:
    """Equal but for the addresses, which what was never read has none of."""

    def plain(entries: list[Entry]) -> list[tuple[str, int, int, str, str]]:
        return sorted((one.day, one.start, one.end, one.activity, one.why) for one in entries)

    return plain(list(found)) == plain(week)


def test_blocks_that_say_the_same_side_by_side_do_not_become_one() -> None:
    week = [Entry("mon", 480, 540, "Math"), Entry("mon", 540, 600, "Math"), Entry("tue", 480, 600, "Math")]
    for shape in SHAPES:
        for kind in KINDS:
            found = understood(read_file(written(week[:2], DAYS, shape, kind)).sheets[0], DAYS, {})
            assert _alike(found.entries, week[:2]), (shape, kind)
            found = understood(read_file(written(week, DAYS, shape, kind)).sheets[0], DAYS, {})
            assert _alike(found.entries, week), (shape, kind)


def test_no_spreadsheet_runs_what_a_cell_says() -> None:
    week = [Entry("mon", 480, 540, "=1+1", "@SUM(A1)"), Entry("tue", 480, 540, "+1 Art", "-2")]
    for shape in SHAPES:
        text = written(week, DAYS, shape, "csv").decode("utf-8-sig")
        assert "'=1+1" in text and "'+1 Art" in text
        fields = [field for row in csv.reader(io.StringIO(text, newline="")) for field in row]
        assert not any(field.startswith(("=", "+", "-", "@")) for field in fields)
        sheet = load_workbook(io.BytesIO(written(week, DAYS, shape, "xlsx"))).active
        assert sheet is not None
        cells = [cell for row in sheet.iter_rows() for cell in row if cell.value is not None]
        assert all(cell.data_type != "f" for cell in cells)
        begun = [cell for cell in cells if str(cell.value).startswith(("=", "+", "-", "@"))]
        assert begun and all(cell.data_type == "s" and cell.quotePrefix for cell in begun)


def test_a_workbooks_grid_has_merged_cells_and_its_list_real_times() -> None:
    week = [Entry("mon", 480, 600, "Math"), Entry("tue", 480, 540, "Art")]
    grid = load_workbook(io.BytesIO(written(week, DAYS, "grid", "xlsx"))).active
    assert grid is not None
    assert [str(span) for span in grid.merged_cells.ranges] == ["B2:B3"]
    listed = load_workbook(io.BytesIO(written(week, DAYS, "list", "xlsx"))).active
    assert listed is not None
    assert (listed["B2"].is_date, listed["B2"].number_format) == (True, "h:mm AM/PM")


def test_an_empty_week_is_a_file_with_headings() -> None:
    for shape in SHAPES:
        for kind in KINDS:
            assert read_file(written([], DAYS, shape, kind)).sheets[0].rows == [1]


TEXTS = st.sampled_from(
    ["Mon", "Tue", "Monday", "Day", "Start", "End", "Time", "Activity", "Subject", "Notes", "Math", "Art", '"', "-"]
    + ["8:15", "9:00", "8:15-9:00", "1:05", "13:00", "12:45 - 1:30", "25:00", "8.3", "Week A", "see 9:00", "Math\nlab"]
)
PLACES = st.tuples(st.integers(1, 7), st.integers(1, 6))
CHOICES = st.dictionaries(
    st.sampled_from(
        ["shape", "header", "clock", "repeats", "last", "times", "column-day", "column-start", "column-why"]
    ),
    st.sampled_from(
        ["list", "grid", "none", "1", "2", "2-3", "12", "24", "one", "own", "A", "B", "C", "14:00", "\x00", "-1"]
    ),
)


@settings(max_examples=300, deadline=None)
@given(
    cells=st.dictionaries(PLACES, TEXTS, min_size=1, max_size=40),
    spans=st.lists(st.tuples(PLACES, PLACES), max_size=3),
    choices=CHOICES,
)
def test_any_sheet_and_any_choices_give_blocks_or_faults(
    cells: dict[tuple[int, int], str],
    spans: list[tuple[tuple[int, int], tuple[int, int]]],
    choices: dict[str, str],
) -> None:
    merged = tuple(
        Span(min(one[0], other[0]), min(one[1], other[1]), max(one[0], other[0]), max(one[1], other[1]))
        for one, other in spans
    )
    found = understood(Sheet("", cells, merged), WEEK, choices)
    assert found.entries or found.faults
    for entry in found.entries:
        assert entry.day in WEEK.names and 0 <= entry.start < entry.end <= DAY and entry.activity and entry.at
