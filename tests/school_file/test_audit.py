"""The audit command through the real database: against both counters, and in every format."""

import csv
import datetime as dt
import io
import json
from fractions import Fraction
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone
from openpyxl import load_workbook

from teamroom.dates.models import School
from tests.minutes.adapter import engine_readings
from tests.minutes.naive.counter import naive_readings
from tests.school_file.files import changed, dump, load, random_file, whole

pytestmark = pytest.mark.django_db

AS_OF = "2026-10-01"


def audit(*arguments: str, **options: Any) -> str:
    out = io.StringIO()
    call_command("audit", *arguments, stdout=out, **options)
    return out.getvalue()


def audit_json(*arguments: str, as_of: str = AS_OF) -> list[dict[str, Any]]:
    found = json.loads(audit("--format", "json", "--as-of", as_of, *arguments))
    assert set(found) == {"as_of", "readings"}
    assert found["as_of"] == as_of
    return list(found["readings"])


def without_traces(readings: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{key: value for key, value in reading.items() if key != "trace"} for reading in readings]


def in_order(school: dict[str, Any], readings: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Another counter's readings in the audit's order: classroom, grade, rule, part, window, verdict last."""
    rooms = [room["key"] for room in school["classrooms"]]
    grades = {room["key"]: room["grades"] for room in school["classrooms"]}
    rules = [rule["key"] for rule in school["rules"]]

    def order(reading: dict[str, Any]) -> tuple[Any, ...]:
        room, part = reading["classroom"], reading["part"]
        window = (reading["window"] or {"from": ""})["from"]
        place = (rooms.index(room), grades[room].index(reading["grade"]), rules.index(reading["rule"]))
        return (*place, part is None, part or 0, window)

    return sorted(readings, key=order)


@pytest.mark.parametrize("seed", range(1000, 1025))
def test_the_audit_agrees_with_both_counters_and_survives_a_dump(seed: int, tmp_path: Path) -> None:
    school = random_file(seed)
    load(tmp_path, school)
    first, last = (dt.date.fromisoformat(school["year"][key]) for key in ("first_day", "last_day"))
    as_of = first + (last - first) // 2
    before = {windows: audit_json("--windows", windows, as_of=f"{as_of}") for windows in ("worst", "all")}
    for windows, mode in (("worst", "worst"), ("all", "all")):
        found = without_traces(before[windows])
        assert found == in_order(school, naive_readings(school, as_of, mode))  # type: ignore[arg-type]  # one of both
        assert found == in_order(school, engine_readings(school, as_of, mode))
    load(tmp_path, json.loads(dump()))
    for windows, readings in before.items():
        assert audit_json("--windows", windows, as_of=f"{as_of}") == readings


@pytest.mark.parametrize("seed", range(1025, 1035))
def test_a_trace_sums_to_what_is_planned(seed: int, tmp_path: Path) -> None:
    school = random_file(seed)
    load(tmp_path, school)
    compared = 0
    for reading in audit_json("--windows", "all"):
        part = part_of(school, reading)
        if part is None:
            assert reading["trace"] == []
        elif "mean" not in part and "share" not in part:
            total = sum(Fraction(str(addend["minutes"])) for addend in reading["trace"])
            # Each addend is shown to two decimals, so a sum of shown figures may be off by as many halves.
            assert abs(total - Fraction(str(reading["planned"]))) <= Fraction(len(reading["trace"]) + 1, 200), reading
            compared += 1
    assert compared or all("mean" in str(rule) or "share" in str(rule) for rule in school["rules"])


def part_of(school: dict[str, Any], reading: dict[str, Any]) -> dict[str, Any] | None:
    rule = next(rule for rule in school["rules"] if rule["key"] == reading["rule"])
    if reading["part"] is None:
        return None
    found: dict[str, Any] = rule.get("all", rule.get("any", [rule]))[reading["part"]]
    return found


def test_one_rule_or_one_classroom_can_be_asked_for(tmp_path: Path) -> None:
    load(tmp_path, whole())
    everything = audit_json()
    for key, value in (("rule", "pe-run"), ("classroom", "room14")):
        wanted = [reading for reading in everything if reading[key] == value]
        assert wanted
        assert audit_json(f"--{key}", value) == wanted


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--rule", "pe-rum"), 'No rule has the key "pe-rum": did you mean "pe-run"?'),
        (("--classroom", "rom12"), 'No classroom has the key "rom12": did you mean "room12"?'),
        (("--year", "2026-28"), 'There is no year "2026-28": did you mean "2026-27"?'),
        (("--school", "Fernhollow"), 'There is no school "Fernhollow": did you mean "Fernhollow Elementary"?'),
        (("--as-of", "1 May"), "'1 May' is no date"),
        (("--format", "xlsx"), "--output FILE"),
        (("--output", "/nowhere/at/all.csv"), "/nowhere/at/all.csv cannot be written: No such file"),
    ],
)
def test_what_cannot_be_done_is_said_in_a_sentence(arguments: tuple[str, ...], words: str, tmp_path: Path) -> None:
    load(tmp_path, whole())
    with pytest.raises(CommandError) as refused:
        audit(*arguments)
    assert words in str(refused.value)


def test_without_any_year_the_command_that_makes_one_is_named() -> None:
    with pytest.raises(CommandError, match="load_school"):
        audit()


def test_of_several_years_the_last_made_is_taken_and_said(tmp_path: Path) -> None:
    load(tmp_path, whole())
    load(tmp_path, changed(whole(), {"year.name": "2027-28", "rules": whole()["rules"][3:]}))
    for command in ("audit", "dump_school"):
        said, out = io.StringIO(), io.StringIO()
        call_command(command, stdout=out, stderr=said)
        assert said.getvalue() == (
            "This is Fernhollow Elementary, 2027-28; there is 1 other: name one with --school and --year.\n"
        )
        assert "pe-run" not in out.getvalue()
    said = io.StringIO()
    assert "pe-run" in audit("--year", "2026-27", stderr=said)
    assert said.getvalue() == ""


def test_so_far_is_as_of_today_at_the_school(tmp_path: Path) -> None:
    # At least one of these two is always at another date than the server's.
    for zone in ("Pacific/Kiritimati", "Pacific/Pago_Pago"):
        load(tmp_path, changed(whole(), {"school.time_zone": zone}))
        found = json.loads(audit("--format", "json"))
        assert found["as_of"] == f"{timezone.localdate(timezone=ZoneInfo(School.objects.get().time_zone))}"


def test_the_table_is_aligned_and_says_verdicts_in_words(tmp_path: Path) -> None:
    load(tmp_path, whole())
    lines = audit("--as-of", AS_OF).splitlines()
    headings = "Classroom Grade Rule Part From To Required Planned Margin Verdict So far Short windows"
    assert " ".join(lines[0].split()) == headings
    assert len(lines) == 2 + len(audit_json())
    start = lines[0].index("Verdict")
    verdicts = {line[start:].split("  ")[0].strip() for line in lines[2:]}
    assert verdicts <= {"met", "short", "over", "below advice", "not checkable"}
    assert {"short", "not checkable"} <= verdicts
    assert max(map(len, lines)) < 160


def test_the_table_says_when_there_is_nothing_to_say(tmp_path: Path) -> None:
    school = whole()
    school["rules"] = []
    load(tmp_path, school)
    assert audit() == "No rule asks anything of any classroom here.\n"
    assert audit_json() == []


def spiked(tmp_path: Path) -> list[dict[str, Any]]:
    """A school whose keys and names would be formulas in a spreadsheet; its readings."""
    text = json.dumps(whole())
    for key, spike in (("room12", "=1+1"), ("pe-run", "@sum"), ("either", "-either"), ("groups", "+groups\\u0007")):
        text = text.replace(f'"{key}"', f'"{spike}"')
    load(tmp_path, json.loads(text))
    return audit_json()


def test_csv_has_plain_headings_and_no_formulas(tmp_path: Path) -> None:
    readings = spiked(tmp_path)
    rows = list(csv.reader(io.StringIO(audit("--format", "csv", "--as-of", AS_OF))))
    assert rows[0] == [
        "Classroom", "Grade", "Rule", "Part", "From", "To",
        "Required", "Planned", "Margin", "Verdict", "So far", "Short windows",
    ]  # fmt: skip
    assert len(rows) == 1 + len(readings)
    for row, reading in zip(rows[1:], readings, strict=True):
        assert row[0].lstrip("'") == reading["classroom"]
        assert row[7] == ("" if reading["planned"] is None else str(reading["planned"]))
        assert not any(cell.startswith(("=", "+", "@")) for cell in row)
    assert {"'=1+1", "'@sum", "'-either"} <= {cell for row in rows for cell in row}


def test_a_workbook_has_readings_and_traces_with_real_numbers_and_no_formulas(tmp_path: Path) -> None:
    readings = spiked(tmp_path)
    path = tmp_path / "audit.xlsx"
    assert audit("--format", "xlsx", "--as-of", AS_OF, "--output", str(path)) == ""
    book = load_workbook(path)
    assert book.sheetnames == ["Readings", "Traces"]
    assert all(sheet.freeze_panes == "A2" for sheet in book)
    assert not any(cell.data_type == "f" for sheet in book for row in sheet for cell in row)
    rows = list(book["Readings"].iter_rows(min_row=2, values_only=True))
    figures = [
        (reading["classroom"], reading["required"], reading["planned"], reading["margin"]) for reading in readings
    ]
    assert [(row[0], *row[6:9]) for row in rows] == figures
    assert "=1+1" in {row[0] for row in rows}
    assert all(row[4] is None or isinstance(row[4], dt.datetime) for row in rows)
    traced = [addend["minutes"] for reading in readings for addend in reading["trace"]]
    assert [row[8] for row in book["Traces"].iter_rows(min_row=2, values_only=True)] == traced


def test_an_output_file_is_replaced_only_by_a_whole_one(tmp_path: Path) -> None:
    load(tmp_path, whole())
    path = tmp_path / "audit.json"
    path.write_text("what was there", encoding="utf-8")
    with pytest.raises(CommandError):
        audit("--rule", "none", "--output", str(path))
    assert path.read_text(encoding="utf-8") == "what was there"
    audit("--format", "json", "--as-of", AS_OF, "--output", str(path))
    assert json.loads(path.read_text(encoding="utf-8"))["readings"] == audit_json()
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["audit.json", "school.json"]


def test_queries_do_not_grow_with_classrooms(tmp_path: Path, django_assert_max_num_queries: Any) -> None:
    school = whole()
    for n in range(60):
        school["classrooms"].append({"key": f"more{n}", "team": "grade4", "grades": ["4"]})
        school["weeks"].append({"classroom": f"more{n}", "from": "2026-08-31"})
    load(tmp_path, school)
    for command in ("audit", "dump_school"):
        with django_assert_max_num_queries(32):
            call_command(command, stdout=io.StringIO())


def test_a_retired_classroom_is_audited_only_when_it_is_named(tmp_path: Path) -> None:
    load(tmp_path, changed(whole(), {"classrooms[1].retired": True}))
    assert {reading["classroom"] for reading in audit_json()} == {"room12"}
    assert {reading["classroom"] for reading in audit_json("--classroom", "room14")} == {"room14"}
