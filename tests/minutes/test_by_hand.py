"""Both counters on days small enough to count by hand: calendar, columns and pieces."""

from typing import Any

import pytest

from tests.minutes.naive.small import bell, blocks, by_day, columns, planned, school, year

pytestmark = pytest.mark.usefixtures("each_counter")

HOUR = "08:00-09:00 math"


def change(date: str, span: str = "", credits: str = "", **more: Any) -> dict[str, Any]:
    found: dict[str, Any] = {"date": date, "name": "Change", **more}
    if span:
        found["from"], found["to"] = span.split("-")
    if credits:
        pairs = [credit.split("=") for credit in credits.split("+")]
        found["credits"] = [{"activity": key, "minutes": int(minutes)} for key, minutes in pairs]
    return found


# Calendar


def test_each_weekday_is_a_school_day_and_the_weekend_is_not() -> None:
    file = school(columns(HOUR), year(last="2025-09-08"))
    assert by_day(file) == {f"09-0{day}": 60 for day in [1, 2, 3, 4, 5, 8]}


def test_a_saturday_that_the_year_names_has_pupils_and_its_own_cycle_day() -> None:
    file = school(
        columns(HOUR) + columns("08:00-08:20 arts", ["sat"]),
        year(last="2025-09-07", days=[{"date": "2025-09-06", "kind": "regular"}]),
    )
    assert by_day(file)["09-06"] == 20
    assert "09-07" not in by_day(file)


def test_a_closed_span_has_no_pupils_on_either_end() -> None:
    closed = [{"from": "2025-09-02", "to": "2025-09-03", "name": "Break"}]
    assert list(by_day(school(columns(HOUR), year(closed=closed)))) == ["09-01", "09-04", "09-05"]


def test_a_weekday_has_its_standing_kind_unless_the_date_has_its_own() -> None:
    calendar = year(
        last="2025-09-10",
        standing_kinds=[{"day": "wed", "kind": "minimum"}],
        days=[{"date": "2025-09-10", "kind": "regular"}],
    )
    minimum = [{"kind": "minimum", "blocks": blocks("08:00-08:30 math")}]
    assert by_day(school(columns(HOUR) + minimum, calendar)) == {
        "09-01": 60, "09-02": 60, "09-03": 30, "09-04": 60, "09-05": 60, "09-08": 60, "09-09": 60, "09-10": 60,
    }  # fmt: skip


def test_alternating_weeks_are_a_in_the_week_of_starts_and_run_backwards_over_closed_weeks() -> None:
    # Weeks of 1, 8 (closed), 15, 22 September; the week of the 22nd is A, so 15 B, 8 A, 1 B.
    calendar = year(
        last="2025-09-26",
        closed=[{"from": "2025-09-08", "to": "2025-09-12", "name": "Break"}],
        cycle={"kind": "alternating weeks", "starts": "2025-09-24"},
    )
    week = columns("08:00-08:10 math", ["A-mon"]) + columns("08:00-08:20 math", ["B-mon"])
    found = by_day(school(week, calendar))
    assert [found["09-01"], found["09-15"], found["09-22"]] == [20, 20, 10]


def test_alternating_weeks_begin_with_a_in_the_week_of_the_first_day() -> None:
    # The year begins on a Friday: that week is A, the next Monday is B.
    calendar = year("2025-09-05", "2025-09-08", cycle={"kind": "alternating weeks"})
    week = columns("08:00-08:10 math", ["A-fri"]) + columns("08:00-08:20 math", ["B-mon"])
    assert by_day(school(week, calendar)) == {"09-05": 10, "09-08": 20}


def numbered(length: int) -> list[dict[str, Any]]:
    """Day n holds n minutes of math."""
    return [{"day": str(number), "blocks": blocks(f"08:00-08:{number:02d} math")} for number in range(1, length + 1)]


def test_rotating_days_have_six_days_and_are_counted_over_school_days_from_the_first() -> None:
    # Closed 3 September; Saturday 6 is named and takes the next number.
    calendar = year(
        last="2025-09-10",
        closed=[{"from": "2025-09-03", "to": "2025-09-03", "name": "Closed"}],
        days=[{"date": "2025-09-06", "kind": "regular"}],
        cycle={"kind": "rotating days"},
    )
    assert list(by_day(school(numbered(6), calendar)).values()) == [1, 2, 3, 4, 5, 6, 1, 2]


def test_rotating_days_run_backwards_from_starts_and_a_start_without_pupils_moves_to_the_next_school_day() -> None:
    # Saturday 6 has none, so Monday 8 is day 1; before it 3, 2, 1, 3, 2 back to Monday 1.
    calendar = year(last="2025-09-09", cycle={"kind": "rotating days", "length": 3, "starts": "2025-09-06"})
    assert list(by_day(school(numbered(3), calendar)).values()) == [2, 3, 1, 2, 3, 1, 2]


def test_a_day_closed_by_a_day_change_does_not_shift_the_rotation() -> None:
    calendar = year(cycle={"kind": "rotating days", "length": 3})
    file = school(numbered(3), calendar, day_changes=[change("2025-09-02", closed=True)])
    assert by_day(file) == {"09-01": 1, "09-03": 3, "09-04": 1, "09-05": 2}


def test_a_day_change_on_a_day_without_pupils_does_nothing() -> None:
    file = school(
        columns(HOUR), year(last="2025-09-07"), day_changes=[change("2025-09-06", "08:00-09:00", "science=60")]
    )
    assert by_day(file, "science", "math") == {f"09-0{day}": 60 for day in range(1, 6)}


@pytest.mark.parametrize(
    ("scope", "closed_for"),
    [
        ({}, ["room1", "room2", "room3"]),
        ({"classrooms": ["room3"]}, ["room3"]),
        ({"teams": ["lower"]}, ["room1", "room2"]),
        ({"teams": ["lower"], "classrooms": ["room3"]}, ["room1", "room2", "room3"]),
        ({"teams": [], "classrooms": ["room1"]}, ["room1"]),
    ],
)
def test_a_day_change_is_for_its_classrooms_and_teams_or_else_the_school(
    scope: dict[str, Any], closed_for: list[str]
) -> None:
    rooms = [("room1", "lower"), ("room2", "lower"), ("room3", "upper")]
    file = school(
        columns(HOUR),
        classrooms=[{"key": key, "team": team, "grades": ["4"]} for key, team in rooms],
        day_changes=[change("2025-09-01", closed=True, **scope)],
    )
    assert [key for key, _ in rooms if "09-01" not in by_day(file, classroom=key)] == closed_for


# Columns


MINIMUM_MONDAY = year(days=[{"date": "2025-09-01", "kind": "minimum"}])


def test_the_column_of_day_and_kind_comes_before_the_kinds_own_and_that_before_the_plain_one() -> None:
    calendar = year(days=[{"date": f"2025-09-0{day}", "kind": "minimum"} for day in [1, 2]])
    week = [
        *columns(HOUR),
        {"day": "mon", "kind": "minimum", "blocks": blocks("08:00-08:10 math")},
        {"kind": "minimum", "blocks": blocks("08:00-08:20 math")},
    ]
    assert list(by_day(school(week, calendar)).values())[:3] == [10, 20, 60]


def test_a_kinds_own_column_may_be_the_regular_one_and_serves_days_without_a_plain_column() -> None:
    week = columns("08:00-08:10 math", ["mon"]) + [{"kind": "regular", "blocks": blocks("08:00-08:20 math")}]
    assert list(by_day(school(week)).values()) == [10, 20, 20, 20, 20]


def test_the_plain_column_is_clipped_to_another_kinds_bell_at_both_ends() -> None:
    # 08:00-09:00 loses 10 at the start, 09:00-10:00 keeps 15, 10:00-11:00 is gone.
    file = school(
        columns("08:00-09:00 math, 09:00-10:00 arts, 10:00-11:00 pe"),
        MINIMUM_MONDAY,
        bell_schedules=[bell("minimum", "08:10", "09:15")],
    )
    assert [by_day(file, key)["09-01"] for key in ["math", "arts", "pe"]] == [50, 15, 0]


def test_the_plain_column_is_not_clipped_for_a_kind_without_a_bell_schedule() -> None:
    file = school(columns(HOUR), MINIMUM_MONDAY, bell_schedules=[bell("regular", "08:30", "09:00")])
    assert by_day(file)["09-01"] == 60


def test_regular_days_and_the_kinds_own_columns_are_never_clipped() -> None:
    week = [*columns(HOUR), {"kind": "minimum", "blocks": blocks("08:00-08:50 math")}]
    bells = [bell("regular", "08:30", "09:00"), bell("minimum", "08:30", "09:00")]
    assert list(by_day(school(week, MINIMUM_MONDAY, bell_schedules=bells)).values()) == [50, 60, 60, 60, 60]


def test_a_column_that_says_it_is_regular_is_the_plain_column() -> None:
    week = [{"day": "mon", "kind": "regular", "blocks": blocks(HOUR)}]
    file = school(week, MINIMUM_MONDAY, bell_schedules=[bell("minimum", "08:00", "08:20")])
    assert by_day(file)["09-01"] == 20


def test_fixed_stretches_count_on_their_cycle_days_and_under_every_column() -> None:
    bells = [bell("regular", "08:00", "12:00", "10:00-10:15 recess, 11:00-11:20 lunch")]
    bells[0]["fixed"][0]["days"] = ["mon"]
    assert list(by_day(school([], bell_schedules=bells)).values()) == [35, 20, 20, 20, 20]


def test_a_combination_class_follows_the_bell_of_its_first_listed_grade() -> None:
    bells = [
        bell("regular", "08:00", "12:00", "10:00-10:15 recess", ["4"]),
        bell("regular", "08:00", "12:00", "10:00-10:20 recess", ["3"]),
    ]
    file = school([], bell_schedules=bells, classrooms=[{"key": "room1", "team": "lower", "grades": ["3", "4"]}])
    assert by_day(file)["09-01"] == 20


REGULAR_RECESS = [bell("regular", "08:00", "12:00", "10:00-10:15 recess")]


def test_a_kind_without_a_bell_takes_the_regular_fixed_stretches_with_the_plain_column() -> None:
    assert by_day(school(columns(HOUR), MINIMUM_MONDAY, bell_schedules=REGULAR_RECESS))["09-01"] == 75


def test_a_kind_without_a_bell_takes_the_regular_fixed_stretches_if_the_plain_column_is_missing() -> None:
    assert by_day(school([], MINIMUM_MONDAY, bell_schedules=REGULAR_RECESS))["09-01"] == 15


def test_a_kind_without_a_bell_has_no_fixed_stretches_under_a_column_of_its_own() -> None:
    week = [*columns(HOUR), {"kind": "minimum", "blocks": blocks("08:00-08:20 math")}]
    assert by_day(school(week, MINIMUM_MONDAY, bell_schedules=REGULAR_RECESS))["09-01"] == 20


def test_a_kind_with_a_bell_takes_only_that_bells_fixed_stretches() -> None:
    bells = [*REGULAR_RECESS, bell("minimum", "08:00", "09:00", "08:50-08:55 recess")]
    assert by_day(school([], MINIMUM_MONDAY, bell_schedules=bells))["09-01"] == 5


def test_a_block_wins_over_a_fixed_stretch_even_with_the_minutes_it_credits_to_nothing() -> None:
    # Recess 10:00-10:30 around a ten-minute block that credits only 4: 10 + 10 minutes stay.
    bells = [bell("regular", "08:00", "12:00", "10:00-10:30 recess")]
    file = school(columns("10:10-10:20 arts:math=4"), bell_schedules=bells)
    assert (by_day(file, "recess")["09-01"], by_day(file, "math")["09-01"]) == (20, 4)


def test_a_block_clipped_away_covers_no_fixed_stretch() -> None:
    # The block would cover 08:50-09:10, but only 08:50-09:00 is left of it: recess loses 10 of 15.
    bells = [bell("minimum", "08:00", "09:00", "08:45-09:00 recess")]
    file = school(columns("08:50-09:10 math"), MINIMUM_MONDAY, bell_schedules=bells)
    assert (by_day(file, "recess")["09-01"], by_day(file, "math")["09-01"]) == (5, 10)


def test_the_latest_version_not_after_the_date_is_in_force() -> None:
    file = school(columns(HOUR))
    file["weeks"].insert(0, {"classroom": "room1", "from": "2025-09-04", "columns": columns("08:00-08:10 math")})
    assert list(by_day(file).values()) == [60, 60, 60, 10, 10]


def test_without_a_version_nothing_counts_but_a_day_changes_credits() -> None:
    file = school(
        columns(HOUR),
        bell_schedules=REGULAR_RECESS,
        day_changes=[change("2025-09-02", "08:00-09:00", "science=25")],
    )
    file["weeks"][0]["from"] = "2025-09-03"
    assert list(by_day(file).values()) == [0, 25, 75, 75, 75]


def test_a_version_without_a_column_for_the_date_has_an_empty_one() -> None:
    assert by_day(school(columns(HOUR, ["mon"]), bell_schedules=REGULAR_RECESS))["09-02"] == 15


# Pieces


def test_credits_replace_the_label_and_may_come_to_less_than_the_block() -> None:
    file = school(columns("08:00-09:00 math:reading=30+science=10"))
    assert [by_day(file, key)["09-01"] for key in ["math", "reading", "science"]] == [0, 30, 10]


def test_a_clipped_piece_shares_its_minutes_by_largest_remainder() -> None:
    # 40 of 60 minutes: floor(30 x 40 / 60) = 20; quotas 20 x 20/30 = 13.33, 20 x 10/30 = 6.67.
    file = school(
        columns("08:00-09:00 x:math=20+science=10"), MINIMUM_MONDAY, bell_schedules=[bell("minimum", "08:00", "08:40")]
    )
    assert (by_day(file, "math")["09-01"], by_day(file, "science")["09-01"]) == (13, 7)


@pytest.mark.parametrize(("order", "first"), [("math=1+science=1", "math"), ("science=1+math=1", "science")])
def test_equal_remainders_go_to_the_credit_listed_first(order: str, first: str) -> None:
    # 2 of 4 minutes: floor(2 x 2 / 4) = 1, quotas 0.5 and 0.5.
    file = school(columns(f"08:00-08:04 x:{order}"), MINIMUM_MONDAY, bell_schedules=[bell("minimum", "08:00", "08:02")])
    assert by_day(file, first)["09-01"] == 1
    assert by_day(file)["09-01"] == 1


def test_each_piece_is_reckoned_from_the_whole_block_however_often_it_was_cut() -> None:
    # 60 minutes credit 45. Clipped to 50, cut at 08:20-08:40: 20 -> 15, 10 -> floor(7.5) = 7.
    file = school(
        columns("08:00-09:00 x:math=45"),
        MINIMUM_MONDAY,
        bell_schedules=[bell("minimum", "08:00", "08:50")],
        day_changes=[change("2025-09-01", "08:20-08:40")],
    )
    assert by_day(file)["09-01"] == 22


def test_a_day_change_takes_from_blocks_and_fixed_stretches_and_credits_what_it_states() -> None:
    # Math loses 08:50-09:00, recess 10:00-10:05; 30 of the 75 minutes are credited to science.
    file = school(
        columns(HOUR),
        bell_schedules=REGULAR_RECESS,
        day_changes=[change("2025-09-01", "08:50-10:05", "science=30")],
    )
    assert [by_day(file, key)["09-01"] for key in ["math", "recess", "science"]] == [50, 10, 30]


def test_day_changes_that_touch_are_both_kept() -> None:
    changes = [change("2025-09-01", "08:00-08:10", "pe=10"), change("2025-09-01", "08:10-08:20", "pe=5")]
    assert planned(school(columns(HOUR), day_changes=changes), {"at_least": 1, "window": "day"})[0] == 55
