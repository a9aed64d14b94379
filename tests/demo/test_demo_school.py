"""What the demo school holds: its calendar, its rules and its weeks, and nobody's name."""

import calendar
import datetime as dt
import re
from collections import Counter
from collections.abc import Iterator
from typing import Any

from scheduling.rule_library.library import jurisdiction
from teamroom.common.clock import minutes_of
from teamroom.demo.people import PEOPLE
from teamroom.school_file.canonical import canonical_body
from teamroom.school_file.checking import checked
from teamroom.school_file.plans import year_of
from tests.demo.demo_readings import AS_OF, as_written, blocks, worst_windows
from tests.minutes.naive.counter import naive_readings

GRADES = ["K", "1", "2", "3", "4", "5", "6"]
SPECIALS = {"art", "music", "library", "pe"}
# Where the specialists teach; PE at any other time is the class's own.
SPECIALS_BEGIN = {"08:25", "09:10", "10:00", "10:40"}
# Read off a wall calendar: weekdays of each month from 8 September to 17 June, and those of them without pupils.
WALL_CALENDAR = {
    (2026, 9): (17, 0),
    (2026, 10): (22, 1),
    (2026, 11): (21, 4),
    (2026, 12): (23, 9),
    (2027, 1): (21, 2),
    (2027, 2): (20, 1),
    (2027, 3): (23, 0),
    (2027, 4): (22, 5),
    (2027, 5): (21, 1),
    (2027, 6): (13, 0),
}
# Words that begin with a capital inside a sentence of the file. A pupil's name would be none of them.
CAPITALS = (
    "Monday Mondays Tuesdays Wednesday Wednesdays Thursday Thursdays Friday Fridays Day "
    "January March May September October December I PE English Mathematics Framework "
    "Elementary School Unified District Education Code"
)


def texts(value: Any, key: str = "") -> Iterator[str]:
    """Everything in the file that people wrote to be read: names, reasons, notes, citations."""
    if isinstance(value, dict):
        for name, held in value.items():
            yield from texts(held, name)
    elif isinstance(value, list):
        for held in value:
            yield from texts(held, key)
    elif isinstance(value, str) and key in ("name", "draft_name", "why", "note", "title", "not_checkable"):
        yield value


def test_the_file_has_no_fault() -> None:
    assert checked(as_written())[0] == []


def test_the_year_has_180_school_days_by_a_wall_calendar_too() -> None:
    days = Counter((day.date.year, day.date.month) for day in year_of(as_written()).days)
    assert days == {month: weekdays - off for month, (weekdays, off) in WALL_CALENDAR.items()}
    assert days.total() == 180
    for year, month in list(WALL_CALENDAR)[1:-1]:
        weekdays = sum(1 for week in calendar.monthcalendar(year, month) for date in week[:5] if date)
        assert weekdays == WALL_CALENDAR[year, month][0]


def test_every_grade_has_a_classroom_bells_and_rules_from_each_source() -> None:
    school = as_written()
    assert sorted({grade for room in school["classrooms"] for grade in room["grades"]}) == sorted(GRADES)
    for grade in GRADES:
        kinds = {bell.get("kind", "regular") for bell in school["bell_schedules"] if grade in bell["grades"]}
        assert kinds == {"regular", "minimum", "conference", "early"}
        standings = {rule.get("standing", "school") for rule in school["rules"] if grade in rule["grades"]}
        assert standings >= {"law", "district", "advice"}
    assert [room["key"] for room in school["classrooms"] if len(room["grades"]) > 1] == ["room-12"]


def test_the_rules_show_every_kind_of_demand() -> None:
    parts = [part for rule in as_written()["rules"] for part in (*rule.get("any", ()), *rule.get("all", ()), rule)]
    said = {key for part in parts for key in part}
    assert said >= {"at_least", "at_most", "recommended", "share", "unbroken", "days_met", "any", "not_checkable"}
    assert said >= {"caps", "sitting", "not_beside", "mean", "day_kinds", "short_window", "effective"}
    assert {part.get("window") for part in parts} == {None, "day", "month", "year"}
    assert {part["run"].get("rolling", False) for part in parts if "run" in part} == {True, False}


def test_what_is_in_the_library_of_published_rules_stands_here_as_it_stands_there() -> None:
    published = {rule.key: rule.as_school_file() for rule in jurisdiction("us-ca").rules}
    taken = [rule for rule in as_written()["rules"] if rule["key"] in published]
    assert len(taken) == 7
    for rule in taken:
        library = published[rule["key"]]
        assert {key: rule[key] for key in ("name", "grades", "citation", "note")} == {
            key: library[key] for key in ("name", "grades", "citation", "note")
        }
        assert canonical_body(_body(rule)) == canonical_body(_body(library))


def _body(rule: dict[str, Any]) -> dict[str, Any]:
    head = {"key", "name", "grades", "standing", "citation", "effective", "note", "not_checkable"}
    return {key: value for key, value in rule.items() if key not in head}


def counting() -> list[dict[str, Any]]:
    """The weeks that are no drafts."""
    return [week for week in as_written()["weeks"] if not week.get("draft")]


def test_no_specialist_is_in_two_rooms_at_once() -> None:
    for starts in ("2026-09-08", "2027-01-04"):
        taught: Counter[tuple[str, str, str]] = Counter()
        for room in as_written()["classrooms"]:
            week = [w for w in counting() if w["classroom"] == room["key"] and w["from"] <= starts][-1]
            for day, kind, block in blocks(week):
                if kind == "regular" and block["start"] in SPECIALS_BEGIN and block["activity"] in SPECIALS:
                    taught[day, block["start"], block["activity"]] += 1
        assert len(taught) == 4 * 9 + 3
        assert set(taught.values()) == {1}


def test_blocks_fill_the_bell_and_most_of_them_say_why() -> None:
    school = as_written()
    bells = {
        (grade, bell.get("kind", "regular")): bell for bell in school["bell_schedules"] for grade in bell["grades"]
    }
    first_grade = {room["key"]: room["grades"][0] for room in school["classrooms"]}
    every = [(week, *found) for week in school["weeks"] for found in blocks(week)]
    for week, day, kind, block in every:
        bell = bells[first_grade[week["classroom"]], kind]
        planned_past_wednesday_noon = (week["classroom"], day, kind) == ("room-14", "wed", "regular")
        assert bell["start"] <= block["start"] < block["end"] <= bell["dismissal"], (week["classroom"], day, block)
        if not planned_past_wednesday_noon:
            fixed = [f for f in bell.get("fixed", ()) if day in f.get("days", [day])]
            assert not [f for f in fixed if f["start"] < block["end"] and block["start"] < f["end"]], block
    reasons = [block["why"] for _, _, _, block in every if "why" in block]
    assert len(reasons) > len(every) / 2
    assert len(set(reasons)) > 300


def test_the_classrooms_of_a_team_hold_two_blocks_together() -> None:
    held: dict[str, set[str]] = {}
    for week in counting():
        for day, _, block in blocks(week):
            if "team_block" in block:
                assert (block["start"], block["end"], block["activity"]) == ("14:10", "14:30", "pe")
                held.setdefault(day, set()).add(week["classroom"])
    assert held == dict.fromkeys(("mon", "thu"), {"room-11", "room-12", "room-14"})


def test_what_specialists_alone_teach_frees_the_teacher() -> None:
    # PE is taught by the class's own teacher too.
    freeing = {activity["key"] for activity in as_written()["activities"] if activity.get("frees_teacher")}
    assert freeing == SPECIALS - {"pe"}


def test_one_shared_resource_is_wanted_by_two_classes_at_once() -> None:
    capacity = {resource["key"]: resource.get("capacity", 1) for resource in as_written()["shared_resources"]}
    wanted: dict[tuple[str, str, str, int], list[str]] = {}
    for week in counting():
        if week["from"] == "2026-09-08":
            for day, kind, block in blocks(week):
                for use in block.get("uses", ()):
                    for minute in range(minutes_of(block["start"]), minutes_of(block["end"])):
                        wanted.setdefault((use["resource"], day, kind, minute), []).append(week["classroom"])
    clashes = {
        (resource, day, *rooms) for (resource, day, _, _), rooms in wanted.items() if len(rooms) > capacity[resource]
    }
    assert clashes == {("science-kits", "fri", "room-12", "room-14")}


def test_no_class_is_over_its_cap() -> None:
    assert all(0 < room["enrolment"] <= room["cap"] for room in as_written()["classrooms"])


def test_no_name_of_a_pupil_or_of_anybody_stands_in_the_file() -> None:
    published = {rule.note for rule in jurisdiction("us-ca").rules}
    for text in texts(as_written()):
        if text in published:
            continue
        for sentence in re.split(r"[.:;?!]\s+", text):
            inside = re.findall(r"(?<=\s)[A-Z][\w'-]*", sentence)
            assert set(inside) <= set(CAPITALS.split()), text
    every_text = " ".join(texts(as_written()))
    assert not [part for person in PEOPLE for part in person.name.split() if part in every_text]


def test_a_second_way_of_counting_gives_the_same_readings() -> None:
    # The naive counter was written from the description of the minutes alone, not from the engine.
    ours = worst_windows()
    theirs = naive_readings(as_written(), AS_OF)

    def by_what(readings: list[dict[str, Any]]) -> dict[tuple[str, ...], dict[str, Any]]:
        return {(r["classroom"], r["grade"], r["rule"], str(r["part"])): r for r in readings}

    assert by_what(ours) == by_what(theirs)


def test_the_year_is_the_one_it_says() -> None:
    days = year_of(as_written()).days
    assert (days[0].date, days[-1].date) == (dt.date(2026, 9, 8), dt.date(2027, 6, 17))
