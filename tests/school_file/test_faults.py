"""Faults of school files: each where it is, in words that help, alone, and with nothing written."""

import io
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from teamroom.dates.models import School
from tests.school_file.fault_table import BAD_DATES, BAD_FORM, BAD_MEANING, BAD_RULES, Case, held_again
from tests.school_file.files import WITHOUT, changed, load, whole, write

pytestmark = pytest.mark.django_db


def faults_of(tmp_path: Path, school: dict[str, Any]) -> dict[str, str]:
    """The faults the command reports, sentence by path; it must refuse and write nothing."""
    said = io.StringIO()
    with pytest.raises(CommandError) as refused:
        call_command("load_school", str(write(tmp_path / "bad.json", school)), stderr=said)
    lines = said.getvalue().splitlines()
    assert str(refused.value) == f"{len(lines)} fault{'s' * (len(lines) > 1)}: nothing was loaded."
    assert refused.value.returncode == 1
    assert not School.objects.exists()
    return dict(line.split(": ", 1) for line in lines)


@pytest.mark.parametrize(
    "case",
    [*BAD_FORM, *BAD_DATES, *BAD_MEANING, *BAD_RULES],
    ids=lambda case: f"{next(iter(case.faults))} {case.words}",
)
def test_a_fault_is_told_once_where_it_is(case: Case, tmp_path: Path) -> None:
    found = faults_of(tmp_path, changed(whole(), case.changes))
    assert list(found) == list(case.faults)
    for path, words in case.faults.items():
        assert words in found[path]


def test_all_faults_are_told_in_one_go_in_the_order_of_the_file(tmp_path: Path) -> None:
    changes: dict[str, Any] = {}
    expected: list[str] = []
    # Cases that touch different sections, so that none hides another.
    picked = [
        Case({"school.time_zone": "Mars/Olympus"}, {"$.school.time_zone": ""}),
        Case({"year.closed[0].to": "2026-12-01"}, {"$.year.closed[0].to": ""}),
        Case({"activities[0].nmae": "x"}, {"$.activities[0].nmae": ""}),
        Case({"rules[1].all[1].at_most": WITHOUT}, {"$.rules[1].all[1]": ""}),
        Case({"weeks[0].columns[0].blocks[2].start": "11:00"}, {"$.weeks[0].columns[0].blocks[2]": ""}),
        Case({"day_changes[0].to": WITHOUT}, {"$.day_changes[0].to": ""}),
    ]
    for case in picked:
        changes |= case.changes
        expected += case.faults
    assert list(faults_of(tmp_path, changed(whole(), changes))) == expected


def test_a_malformed_activity_is_not_told_again_wherever_it_is_named(tmp_path: Path) -> None:
    for bad in ({"key": 3, "name": "Reading"}, {"kee": "reading", "name": "Reading"}, "reading", {"name": "Reading"}):
        found = faults_of(tmp_path, changed(whole(), {"activities[0]": bad}))
        assert all(path.startswith("$.activities[0]") for path in found), found


def test_a_misspelt_section_is_not_told_again_wherever_its_keys_are_named(tmp_path: Path) -> None:
    school = whole()
    school["activites"] = school.pop("activities")
    assert faults_of(tmp_path, school) == {
        "$.activites": '"activites" is no key of a school file: did you mean "activities"?'
    }
    school = whole()
    school["year"]["daykinds"] = school["year"].pop("day_kinds")
    assert list(faults_of(tmp_path, school)) == ["$.year.daykinds"]


def test_a_malformed_test_is_not_told_again_as_a_part_without_one(tmp_path: Path) -> None:
    for bad in ({"rules[0].at_least": "200"}, {"rules[0].at_least": WITHOUT, "rules[0].atleast": 200}):
        assert len(faults_of(tmp_path, changed(whole(), bad))) == 1


def test_checking_alone_says_the_faults_and_changes_nothing(tmp_path: Path) -> None:
    out = io.StringIO()
    call_command("load_school", str(write(tmp_path / "good.json", whole())), "--check", stdout=out)
    assert out.getvalue() == "The file has no fault. Nothing was changed.\n"
    assert not School.objects.exists()
    with pytest.raises(CommandError):
        call_command("load_school", str(write(tmp_path / "bad.json", {})), "--check", stderr=io.StringIO())


@pytest.mark.parametrize(
    "changes",
    [
        {"year.closed[1]": {"from": "2027-01-02", "to": "2027-01-04"}},
        {
            "year.cycle": {"kind": "weekdays", "length": 4, "starts": "2026-09-01"},
            "bell_schedules[0].fixed[0].days": [],
            "weeks[0].columns": [],
            "weeks[2].columns": [],
            "weeks[3].columns": [],
        },
        held_again(),
        held_again(uses=[{"resource": "lab"}]),
        {"rules[0].effective": {"from": "", "to": ""}, "rules[0].citation.checked": "", "rules[0].note": ""},
        {"rules[0].caps[2].at_most_share": "0.75"},
        {"rules[0].at_least": 200.0},
        {"year.cycle.starts": "", "classrooms[0].room": "", "classrooms[0].name": ""},
        {"day_changes[2].classrooms": [], "day_changes[2].teams": []},
        {"rules[0].citation.checked": "1999-01-01", "rules[0].effective.to": "2099-01-01"},
        {"classrooms[0].grades": ["Little ones"]},
        {"weeks[0].columns[0].blocks[0].start": "00:00"},
    ],
)
def test_what_is_only_unusual_is_no_fault(changes: dict[str, Any], tmp_path: Path) -> None:
    load(tmp_path, changed(whole(), changes))
    assert School.objects.count() == 1
