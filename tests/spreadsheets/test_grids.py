"""Sheets that are grids: days across, times down."""

import pytest

from scheduling.spreadsheets.days import Days
from scheduling.spreadsheets.sheet import Span
from tests.spreadsheets.sheets import blocks, faults, read, said, value

PLAIN = """
Room 12 | |
 | Mon | Tue
8:15 | Reading | Reading
9:00 | Math |
9:45 | Math | Art
12:45 | Science | -
1:05 | Writing | PE
1:45 | |
"""


def test_a_plain_grid_is_read_with_times_that_run_on_past_noon() -> None:
    found = read(PLAIN)
    assert found.shape == "grid" and found.faults == ()
    assert blocks(found) == [
        "mon 08:15-09:00 Reading",
        "mon 09:00-12:45 Math",
        "mon 12:45-13:05 Science",
        "mon 13:05-13:45 Writing",
        "tue 08:15-09:00 Reading",
        "tue 09:45-12:45 Art",
        "tue 13:05-13:45 PE",
    ]
    assert "the same block going on, as in B5" in said(found)
    assert "The times run on past noon" in said(found)
    assert value(found, "last") == "", "nothing stands in the last row, so its end is no matter"
    assert [entry.at for entry in found.entries if entry.activity == "Math"] == ["B4:B5"]


def test_repeated_text_may_be_blocks_of_their_own() -> None:
    own = blocks(read(PLAIN, repeats="own"))
    assert own[1:3] == ["mon 09:00-09:45 Math", "mon 09:45-12:45 Math"]


def test_times_may_be_taken_as_they_stand() -> None:
    found = read(PLAIN, clock="24")
    assert faults(found) == [
        "A7: This time does not come after the one above: mend one of them.",
        "A8: This time does not come after the one above: mend one of them.",
    ]


def test_merged_cells_are_one_block_and_then_equal_text_is_not() -> None:
    typed = " | Mon | Tue\n8:15 | Math | Art\n8:30 | | Art\n9:00 | PE | PE\n9:30 | |"
    found = read(typed, Span(2, 2, 3, 2))
    assert blocks(found) == [
        "mon 08:15-09:00 Math",
        "mon 09:00-09:30 PE",
        "tue 08:15-08:30 Art",
        "tue 08:30-09:00 Art",
        "tue 09:00-09:30 PE",
    ]
    assert value(found, "repeats") == "own"
    assert blocks(read(typed, Span(2, 2, 3, 2), repeats="one"))[2] == "tue 08:15-09:00 Art"


def test_cells_merged_across_days_are_a_block_on_each() -> None:
    found = read(" | Mon | Tue | Wed\n12:00 | Lunch | | \n12:30 | Art | | ", Span(2, 2, 2, 4))
    assert blocks(found)[1:] == ["mon 12:30-13:00 Art", "tue 12:00-12:30 Lunch", "wed 12:00-12:30 Lunch"]
    assert "Cells merged across days are a block on each of them: B2:D2." in said(found)


def test_a_mark_of_repetition_goes_on_from_above() -> None:
    found = read(' | Mon | Tue\n8:15 | Math | "\n8:30 | " | Art\n8:45 | Math | \n9:00 | |')
    assert blocks(found) == ["mon 08:15-08:45 Math", "mon 08:45-09:00 Math", "tue 08:30-08:45 Art"]
    assert faults(found) == ["C2: Nothing above it goes on here: write the activity."]


def test_labels_with_ends_leave_free_time_between_rows() -> None:
    found = read("Time | Mon | Tue\n8:15 - 8:55 | Math | Art\n9:00 - 9:40 | Math | Art\n12:50 - 1:30 | PE | PE")
    assert blocks(found)[:3] == ["mon 08:15-08:55 Math", "mon 09:00-09:40 Math", "mon 12:50-13:30 PE"]


def test_starts_and_ends_may_stand_in_two_columns() -> None:
    found = read("Start | End | Mon | Tue\n8:15 | 8:55 | Math | Art\n9:00 | 9:4x | PE | PE\n9:50 | 10:30 | PE | PE")
    assert blocks(found)[0] == "mon 08:15-08:55 Math"
    assert faults(found)[0] == "B3: “9:4x” is no time of day: write it as in 8:15."


def test_another_column_may_have_the_times() -> None:
    typed = "Bus | Gate | Time | Mon | Tue\n7:15 | 3 | 8:15 | Math | Art\n7:30 | 4 | 9:00 | PE | PE\n | | 9:30 | |"
    assert blocks(read(typed))[0] == "mon 07:15-07:30 Math"
    found = read(typed, times="C")
    assert blocks(found)[0] == "mon 08:15-09:00 Math"
    assert "Column C has the times." in said(found)
    assert value(read(PLAIN), "times") == "", "there is only one column of times"


def test_the_last_row_ends_as_guessed_or_as_chosen() -> None:
    typed = " | Mon | Tue\n1:00 | Math | Art\n1:45 | PE | "
    assert blocks(read(typed))[1] == "mon 13:45-14:30 PE"
    assert "it is taken to end at 2:30" in said(read(typed))
    assert blocks(read(typed, last="14:15"))[1] == "mon 13:45-14:15 PE"
    assert blocks(read(typed, last="03:00"))[1] == "mon 13:45-14:30 PE"


def test_a_day_that_begins_before_seven_is_a_morning_until_noon() -> None:
    found = read(" | Mon | Tue\n6:30 | Duty | \n7:15 | Math | Art\n12:30 | PE | \n1:15 | Art | \n2:00 | |")
    assert blocks(found)[:4] == [
        "mon 06:30-07:15 Duty",
        "mon 07:15-12:30 Math",
        "mon 12:30-13:15 PE",
        "mon 13:15-14:00 Art",
    ]


def test_an_afternoon_alone_is_an_afternoon() -> None:
    assert blocks(read(" | Mon | Tue\n12:15 | Math | Art\n1:00 | PE | \n1:30 | | "))[1] == "mon 13:00-13:30 PE"


def test_what_stands_below_the_first_line_of_a_cell_is_the_reason() -> None:
    found = read(" | Mon | Tue\n8:15 | Math/the lab is ours/on Mondays | Art\n9:00 | |")
    assert found.entries[0].why == "the lab is ours\non Mondays"
    assert "what stands below it is the reason" in said(found)


def test_rows_around_the_times_are_left_out_and_said() -> None:
    found = read(" | Mon | Tue\n | 9/7 | 9/8\n8:15 | Math | Art\n9:00 | | \n | see the office | ")
    assert found.faults == ()
    assert "Without a time, and so left out: rows 2, 5." in said(found)


def test_a_row_of_blocks_without_a_time_is_told_by_its_address() -> None:
    found = read(" | Mon | Tue\n8:15 | Math | Art\nsoon | PE | \n9:00 | Art |\n9:30 | |")
    assert faults(found) == ["A3: This row has blocks and no time: write its time, or empty the row."]


def test_text_beside_a_merged_time_is_told_by_its_address() -> None:
    found = read(" | Mon | Tue\n8:15 | Math | Art\n | Ms Moss | \n9:00 | Art |\n9:30 | |", Span(2, 1, 3, 1))
    assert faults(found) == ["B3: This row has no time of its own: write one, or empty the cell."]


@pytest.mark.parametrize("times", ["8:15\n8:15", "9:00\n8:15 am", "9:00\n24:00", "9:00 - 9:30\n9:15 - 10:00"])
def test_times_that_go_back_are_told_by_their_address(times: str) -> None:
    first, second = times.split("\n")
    found = read(f" | Mon | Tue\n{first} | Math | Art\n{second} | PE | Art")
    assert faults(found)[0].startswith("A3: This time does not come after the one above")


def test_weeks_a_and_b_are_told_apart_by_the_row_above() -> None:
    days = Days(
        [(f"{week}-{day[:3].lower()}", f"{day} of week {week}") for week in "AB" for day in ("Monday", "Tuesday")]
    )
    found = read(
        "| Week A | | Week B | \n | Mon | Tue | Mon | Tue\n8:15 | Math | Art | PE | Art\n9:00 | | | |",
        Span(1, 2, 1, 3),
        Span(1, 4, 1, 5),
        days=days,
    )
    assert [(entry.day, entry.activity) for entry in found.entries] == [
        ("A-mon", "Math"),
        ("A-tue", "Art"),
        ("B-mon", "PE"),
        ("B-tue", "Art"),
    ]


def test_another_row_may_name_the_days() -> None:
    typed = " | Mon | Tue\n8:00 | Math | Art\n | Wed | Thu\n8:15 | PE | PE\n9:00 | |"
    assert value(read(typed), "header") == "1"
    assert [entry.day for entry in read(typed, header="3").entries] == ["wed", "thu"]


def test_a_grid_without_times_is_no_grid() -> None:
    assert read("x | Mon | Tue\ny | Math | Art").shape == ""
    assert faults(read("x | Mon | Tue\ny | Math | Art", shape="grid"))[0].startswith("A1: No row names two days")
