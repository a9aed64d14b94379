"""Each classroom of the demo school misses what it is meant to miss, and for the reason it is meant to.

The reasons, each the kind of thing that happens in a school:

- Room 1 (K) keeps the children over 240 minutes on Fridays from January: the lunch tables stand in
  its half of the yard, so the second recess became singing, and recess alone stays out of the sum.
- Room 3 (grade 1) has PE on Mondays, Wednesdays and Fridays only, so a holiday, a conference
  afternoon or a rehearsal on one of them leaves ten days short of 200 minutes.
- Room 4 (grade 1) has music on Thursdays at 8:25, just when the school sits in the fall assembly.
- Room 6 (grade 2) gave its movement break to cursive; December has too few days to make up for it.
- Room 11 (grade 3) has its reading cut in two by the specialist at 9:10; only Wednesdays are whole.
- Room 12 (3 and 4) lost two days to a burst pipe: enough is left for grade 3, not for grade 4.
- Room 14 (grade 4) planned its third science lesson after dismissal of the Wednesday minimum day;
  the week in effect from January moves it to the morning.
- Room 22 (grade 5) puts recess straight before lunch, where the district does not count it.
- Room 24 (grade 6) lost a morning hour to a visit on the day the power went out, and gives its
  writing to the spring musical from January to May.
- Rooms 12, 14 and 22 begin with mathematics, so the fall assembly takes half of it that day.
- Room 21 (grade 5) meets everything.
"""

import datetime as dt

import pytest

from tests.demo.demo_readings import (
    as_written,
    blocks,
    missed_rules,
    missed_windows,
    otherwise,
    week_of,
    windows,
    without_changes,
    worst_windows,
)

ASSEMBLY = "Fall assembly in the hall"
MATH = "us-ca-math-framework"
INTENDED = {
    ("room-1", "K"): {"us-ca-maxday-k": "over"},
    ("room-3", "1"): {"us-ca-pe-1-6": "short"},
    ("room-4", "1"): {"school-arts-week": "short"},
    ("room-6", "2"): {"district-activity-month": "short"},
    ("room-11", "3"): {"district-reading-block": "short"},
    ("room-12", "3"): {MATH: "below advice"},
    ("room-12", "4"): {"us-ca-annual-4-8": "short", "district-year-4-6": "short", MATH: "below advice"},
    ("room-14", "4"): {"school-science-week": "short", "school-science-days": "short", MATH: "below advice"},
    ("room-21", "5"): {},
    ("room-22", "5"): {"district-recess": "short", MATH: "below advice"},
    ("room-24", "6"): {"minday-4-6-floor": "short", "district-core-share": "short"},
}
# A day of PE that each of the short runs of ten days lost: holidays, a conference afternoon, the rehearsal.
PE_LOST_ON = ["2026-10-12", "2026-11-11", "2027-01-18", "2027-02-19", "2027-03-26", "2027-05-31"]


def weekday(date: str) -> str:
    return dt.date.fromisoformat(date).strftime("%a").lower()


def test_every_classroom_misses_what_it_is_meant_to_and_nothing_else() -> None:
    assert missed_rules() == INTENDED


def test_one_classroom_alone_meets_everything() -> None:
    missed = missed_rules()
    assert {room for room, _ in missed} - {room for (room, _), rules in missed.items() if rules} == {"room-21"}


def test_kindergarten_is_kept_too_long_on_fridays_once_recess_became_singing() -> None:
    over = missed_windows(as_written(), "room-1", "us-ca-maxday-k")
    assert {weekday(first) for first, _ in over} == {"fri"}
    assert over[0][0] == "2027-01-08"
    school = otherwise()
    week = week_of(school, "room-1", "2027-01-04")
    singing = [b for day, kind, b in blocks(week) if (day, kind, b["start"]) == ("fri", "regular", "11:30")]
    assert [block["activity"] for block in singing] == ["music"]
    singing[0]["activity"] = "recess"
    assert missed_windows(school, "room-1", "us-ca-maxday-k") == []


def test_pe_of_first_grade_is_lost_to_holidays_conferences_and_a_rehearsal() -> None:
    on_days = {day for day, _, block in blocks(week_of(as_written(), "room-3")) if block["activity"] == "pe"}
    assert on_days == {"mon", "wed", "fri"}
    missed = missed_windows(as_written(), "room-3", "us-ca-pe-1-6")
    assert len(missed) == len(PE_LOST_ON)
    for (first, last), lost in zip(missed, PE_LOST_ON, strict=True):
        assert first <= lost <= last
    school = without_changes(as_written(), "Talent show rehearsal in the hall")
    school["year"] |= {"closed": [], "days": []}
    assert missed_windows(school, "room-3", "us-ca-pe-1-6") == [], "ten days in a row always hold each lesson twice"


def test_music_of_the_other_first_grade_falls_to_the_assembly() -> None:
    assert missed_windows(as_written(), "room-4", "school-arts-week") == [("2026-10-26", "2026-10-30")]
    assert missed_windows(without_changes(as_written(), ASSEMBLY), "room-4", "school-arts-week") == []


def test_second_grade_moves_too_little_in_december_as_cursive_took_the_break() -> None:
    rule = "district-activity-month"
    assert missed_windows(as_written(), "room-6", rule) == [("2026-12-01", "2026-12-18")]
    school = otherwise()
    for column in week_of(school, "room-6")["columns"]:
        for place, block in enumerate(column["blocks"]):
            if block["start"] == "12:35":
                block["start"] = "12:40"
                column["blocks"].insert(place, {"start": "12:35", "end": "12:40", "activity": "physical_activity"})
                break
    assert missed_windows(school, "room-6", rule) == []


def test_third_grade_reading_is_cut_by_specials_on_every_day_but_wednesday() -> None:
    days = windows(as_written(), "room-11", "district-reading-block")
    assert {(weekday(day["window"]["from"]) == "wed", day["status"]) for day in days} == {
        (True, "met"),
        (False, "short"),
    }
    school = otherwise()
    for week in school["weeks"]:
        for _, _, block in blocks(week, plain_only=True):
            if week["classroom"] == "room-11" and block["start"] == "09:10":
                block["activity"] = "reading"
    missed = missed_windows(school, "room-11", "district-reading-block")
    assert missed == [("2026-10-29", "2026-10-29")], "only the assembly cuts it then"


@pytest.mark.parametrize(("rule", "required"), [("us-ca-annual-4-8", 54000), ("district-year-4-6", 56500)])
def test_the_burst_pipe_leaves_fourth_grade_short_of_its_year(rule: str, required: int) -> None:
    (year,) = windows(as_written(), "room-12", rule, "4")
    (whole,) = windows(without_changes(as_written(), "Burst pipe under room 12"), "room-12", rule, "4")
    assert year["planned"] < required <= whole["planned"]


def test_the_burst_pipe_costs_two_whole_days_and_grade_3_still_has_enough() -> None:
    (year,) = windows(as_written(), "room-12", "us-ca-annual-4-8", "4")
    (whole,) = windows(without_changes(as_written(), "Burst pipe under room 12"), "room-12", "us-ca-annual-4-8", "4")
    # By hand: 8:10 to 14:40 is 390; lunch 25, recess 20 and 15, packing up 5 come off; twice.
    assert whole["planned"] - year["planned"] == 2 * (390 - 25 - 20 - 15 - 5)
    (third,) = windows(as_written(), "room-12", "us-ca-annual-1-3", "3")
    assert (third["status"], third["planned"]) == ("met", year["planned"])


@pytest.mark.parametrize("rule", ["school-science-week", "school-science-days"])
def test_the_wednesday_minimum_day_eats_fourth_grade_science_until_the_week_changes(rule: str) -> None:
    missed = missed_windows(as_written(), "room-14", rule)
    autumn = [w for w in windows(as_written(), "room-14", rule) if w["window"]["to"] < "2027-01-01"]
    # Only the conference week and the two days before Thanksgiving, which have columns of their own, are met.
    met = [w["window"]["from"] for w in autumn if w["status"] == "met"]
    assert met == ["2026-11-09", "2026-11-23"]
    assert len(missed) == len(autumn) - 2
    school = otherwise()
    school["year"]["standing_kinds"] = []
    without_a_monday = [("2026-09-08", "2026-09-11"), ("2026-10-13", "2026-10-16")]
    later = [w for w in missed_windows(school, "room-14", rule) if w[0] < "2027-01-01"]
    assert set(later) <= set(without_a_monday), "whole Wednesdays would have kept every whole week"


def test_recess_of_room_22_does_not_count_only_because_lunch_follows() -> None:
    days = windows(as_written(), "room-22", "district-recess")
    away_on_a_trip = [day["window"]["from"] for day in days if day["status"] == "met"]
    assert away_on_a_trip == ["2027-04-16"]
    school = otherwise()
    rule = next(rule for rule in school["rules"] if rule["key"] == "district-recess")
    del rule["not_beside"]
    missed = missed_windows(school, "room-22", "district-recess")
    assert missed == [("2027-01-27", "2027-01-27"), ("2027-03-02", "2027-03-02")], "sent home before it"


def test_the_draft_of_room_22_would_let_its_recess_count() -> None:
    school = otherwise()
    (draft,) = [week for week in school["weeks"] if week.get("draft")]
    assert (draft["classroom"], draft["from"]) == ("room-22", "2027-01-04")
    before = missed_windows(school, "room-22", "district-recess")
    del draft["draft"], draft["draft_name"]
    after = missed_windows(school, "room-22", "district-recess")
    assert [window for window in before if window[0] < "2027-01-04"] == [w for w in after if w[0] < "2027-01-04"]
    assert [window for window in after if window[0] >= "2027-01-04"] == []


def test_sixth_grade_falls_under_the_floor_when_a_visit_and_the_power_cut_meet() -> None:
    visit, power_cut = (
        "Visit from the middle school's counselor",
        "Power out in the upper building, home early",
    )
    rule = "minday-4-6-floor"
    assert missed_windows(as_written(), "room-24", rule) == [("2027-03-02", "2027-03-02")]
    for name in (visit, power_cut):
        assert missed_windows(without_changes(as_written(), name), "room-24", rule) == []


def test_the_musical_takes_sixth_grade_under_its_share_of_core_subjects() -> None:
    missed = missed_windows(as_written(), "room-24", "district-core-share")
    assert missed[0][0] == "2027-01-04"
    assert missed[-1][1] == "2027-05-14", "the week after, the writing is back"
    school = otherwise()
    week_of(school, "room-24", "2027-01-04")["columns"] = week_of(school, "room-24")["columns"]
    assert missed_windows(school, "room-24", "district-core-share") == []


@pytest.mark.parametrize("room", ["room-12", "room-14", "room-22"])
def test_the_assembly_takes_the_mathematics_of_those_who_begin_with_it(room: str) -> None:
    assert set(missed_windows(as_written(), room, MATH)) == {("2026-10-29", "2026-10-29")}
    assert missed_windows(without_changes(as_written(), ASSEMBLY), room, MATH) == []


@pytest.mark.parametrize("room", ["room-3", "room-12", "room-21"])
def test_the_ten_day_average_saves_the_days_that_are_short_by_themselves(room: str) -> None:
    readings = [r for r in worst_windows() if r["classroom"] == room and r["rule"].endswith("-either")]
    found = {reading["part"]: reading["status"] for reading in readings}
    assert found == {0: "short", 1: "met", None: "met"}
