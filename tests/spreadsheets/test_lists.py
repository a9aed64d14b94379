"""Sheets that are lists: a row for each block."""

import pytest

from scheduling.spreadsheets.days import Days
from scheduling.spreadsheets.guessing import overlaps
from scheduling.spreadsheets.sheet import Span
from tests.spreadsheets.sheets import WEEK, blocks, faults, read, said, value

PLAIN = """
Day | Start | End | Activity | Reason
Monday | 8:15 | 9:00 | Reading | the aide is here
Monday | 12:45 | 1:30 | Math |
Tuesday | 8:15 | 9:00 | Math |
"""


def test_a_plain_list_is_read_with_its_reasons_and_addresses() -> None:
    found = read(PLAIN)
    assert found.shape == "list" and found.faults == ()
    assert blocks(found) == ["mon 08:15-09:00 Reading", "mon 12:45-13:30 Math", "tue 08:15-09:00 Math"]
    assert [(entry.at, entry.why) for entry in found.entries][0] == ("D2", "the aide is here")


def test_columns_stand_in_any_order_under_other_words_below_a_title() -> None:
    found = read(
        """
        Room 12 | |
        | |
        Subject | To | From | Weekday | Notes
        Math | 9:00 | 8:15 | Mo | early
        """
    )
    assert blocks(found) == ["mon 08:15-09:00 Math"]
    assert "Row 3 names the columns." in said(found)
    assert value(found, "column-start") == "C"


def test_two_rows_that_name_the_columns_are_taken_together() -> None:
    found = read(
        """
        Day | Time | | Subject
        | Start | End |
        Mon | 8:15 | 9:00 | Math
        """,
        Span(1, 2, 1, 3),
    )
    assert blocks(found) == ["mon 08:15-09:00 Math"]
    assert "Rows 1 and 2 name the columns." in said(found)
    assert found.faults == ()


def test_a_block_below_the_names_of_the_columns_is_never_taken_for_one_of_them() -> None:
    found = read("Day | Time | Subject | \nMon | 8:15-9:00 | Math | Notes for Ms Moss")
    assert blocks(found) == ["mon 08:15-09:00 Math"]
    assert "Row 1 names the columns." in said(found)


def test_plain_words_above_a_column_go_before_those_that_may_mean_something_else() -> None:
    found = read("Class | Notes to the office | Day | From | To | Subject\nRoom 12 | none | Mon | 8:15 | 9:00 | Math")
    assert blocks(found) == ["mon 08:15-09:00 Math"]
    assert found.entries[0].why == "none"


def test_a_reason_that_is_too_long_is_told_by_its_address() -> None:
    long = "x" * 9_999
    found = read(f"Day | Time | Subject | Notes\nMon | 8:15-9:00 | Math/{long} | {long}")
    assert faults(found) == ["C2: The reason is too long: shorten it."]


def test_start_and_end_may_stand_in_one_column() -> None:
    found = read("Day | Time | Class\nMon | 8:15-9:00 | Math\nTue | 12:45 – 1:30 | Art\nWed | 9:00 | Art")
    assert blocks(found) == ["mon 08:15-09:00 Math", "tue 12:45-13:30 Art"]
    assert faults(found) == ["B4: The end is missing: write it."]


def test_a_day_that_is_written_once_or_merged_holds_for_the_rows_below() -> None:
    typed = (
        "Day | Time | Subject\nMon | 8:15-9:00 | Math\n | 9:00-9:30 | Art\n | 9:30-10:00 | PE\nTue | 8:00-8:30 | Art"
    )
    once = read(typed)
    assert blocks(once)[:3] == ["mon 08:15-09:00 Math", "mon 09:00-09:30 Art", "mon 09:30-10:00 PE"]
    assert "Where the day is empty, it is the one above." in said(once)
    merged = read(typed, Span(2, 1, 4, 1))
    assert blocks(merged) == blocks(once)
    assert "Where the day is empty" not in said(merged)


def test_a_row_for_several_days_is_a_block_on_each() -> None:
    found = read("Day | Time | Subject\nTue & Thu | 8:15-9:00 | Math\ndaily | 9:00-9:15 | Recess")
    assert len(found.entries) == 7
    assert blocks(found)[-2:] == ["thu 09:00-09:15 Recess", "fri 09:00-09:15 Recess"]


def test_rows_without_times_are_left_out_and_said() -> None:
    found = read("Day | Time | Subject\nMon | 8:15-9:00 | Math\n | | \n | | Ask the office for the lab")
    assert found.faults == ()
    assert "Without times, and so left out: row 4." in said(found)


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("Mon | 8:15 | 9:0x | Math", "C2: “9:0x” is no time of day: write it as in 8:15."),
        ("Mon | 8:15 | | Math", "C2: The end is missing: write it."),
        ("Mon | | 9:00 | Math", "B2: The start is missing: write it."),
        ("Mon | | | Math", "B2: The start is missing: write it."),
        ("Mon | 9:00 | 8:15 | Math", "C2: The end does not come after the start: mend one of them."),
        ("Mon | 8:15 | 9:00 | ", "D2: The activity is missing: write what the time is for, or empty the row."),
        (
            "Someday | 8:15 | 9:00 | Math",
            "A2: “Someday” is no day of this week: write Monday and Tuesday, and so on.",
        ),
        (" | 8:15 | 9:00 | Math", "A2: The day is missing: write it."),
    ],
)
def test_a_cell_that_cannot_be_read_is_told_by_its_address(row: str, told: str) -> None:
    found = read(f"Day | Start | End | Subject\n{row}\nFri | 8:00 | 9:00 | Art")
    assert faults(found) == [told]
    assert blocks(found) == ["fri 08:00-09:00 Art"]


def test_every_guess_can_be_chosen_otherwise() -> None:
    typed = "Day | Start | End | Subject | Class\nMon | 1:15 | 2:00 | Math | Room 12"
    assert blocks(read(typed)) == ["mon 13:15-14:00 Math"]
    assert blocks(read(typed, clock="24")) == ["mon 01:15-02:00 Math"]
    assert blocks(read(typed, column_activity="E")) == ["mon 13:15-14:00 Room 12"]
    assert read(typed, column_why="E").entries[0].why == "Room 12"
    assert blocks(read(typed, column_activity="ZZZ", clock="never", header="99", shape="heap")) == blocks(read(typed))


def test_a_list_without_names_of_columns_is_read_once_they_are_chosen() -> None:
    typed = "Mon | 8:15 | 9:00 | Math\nTue | 9:00 | 9:30 | Art"
    assert read(typed).shape == ""
    assert faults(read(typed))[0].startswith(": The sheet is neither a list nor a grid")
    asked = read(typed, shape="list")
    assert faults(asked)[0].startswith("A1: No column is known for: Day; Start, or start and end; Activity.")
    found = read(typed, shape="list", column_day="A", column_start="B", column_end="C", column_activity="D")
    assert blocks(found) == ["mon 08:15-09:00 Math", "tue 09:00-09:30 Art"]
    below = read(typed, shape="list", header="1", column_day="A", column_start="B", column_end="C", column_activity="D")
    assert blocks(below) == ["tue 09:00-09:30 Art"]


def test_before_school_in_one_row_is_not_turned_into_the_evening() -> None:
    assert blocks(read("Day | Time | Subject\nMon | 6:30-7:15 | Duty")) == ["mon 06:30-07:15 Duty"]


def test_times_with_a_24_hour_one_among_them_are_taken_as_they_stand() -> None:
    found = read("Day | Time | Subject\nMon | 1:00-2:00 | Duty\nMon | 13:00-14:00 | Math")
    assert blocks(found) == ["mon 01:00-02:00 Duty", "mon 13:00-14:00 Math"]
    assert value(found, "clock") == "24"
    assert "1:05 is in the night" in said(found)


def test_overlapping_blocks_are_told_with_both_addresses() -> None:
    found = read(
        "Day | Time | Subject\nMon | 8:15-9:00 | Math\nMon | 8:45-9:30 | Art\nTue | 8:15-9:00 | Art\nMon|9:30-10:00|PE"
    )
    (fault,) = overlaps(found.entries, WEEK)
    assert fault.at == "C2 and C3"
    assert fault.said.startswith("On Monday, Math in C2 (8:15–9:00) and Art in C3 (8:45–9:30) take the same time")
    assert overlaps([entry for entry in found.entries if entry.activity != "Art"], WEEK) == []


def test_a_long_block_is_held_against_all_it_covers() -> None:
    found = read("Day|Time|Subject\nMon|8:00-12:00|Trip\nMon|8:30-9:00|Art\nMon|10:00-11:00|PE")
    assert [fault.at for fault in overlaps(found.entries, WEEK)] == ["C2 and C3", "C2 and C4"]


def test_more_blocks_than_a_week_has_are_refused() -> None:
    rows = "\n".join(f"daily | 8:{n % 60:02d}-9:{n % 60:02d} | Math" for n in range(121))
    found = read(f"Day | Time | Subject\n{rows}")
    assert found.entries == ()
    assert "more than 600 blocks" in faults(found)[0]


def test_an_empty_list_says_so() -> None:
    assert faults(read("Day | Time | Subject")) == [": No block was found in the sheet."]


def test_days_of_a_rotation_are_found_by_their_numbers() -> None:
    rotation = Days([(str(n), f"Day {n}") for n in range(1, 7)])
    found = read(
        "Day | Time | Subject\n1 | 8:15-9:00 | Math\nDay 2 | 8:15-9:00 | Art\n3-4 | 9:00-9:30 | PE", days=rotation
    )
    assert [entry.day for entry in found.entries] == ["1", "2", "3", "4"]
