"""`manage.py mend` and `manage.py draft`: weeks of a school file, held to account by a second way of counting."""

import copy
import datetime as dt
import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from teamroom.demo.load import demo_document
from teamroom.school_file.checking import sound_document
from tests.minutes.naive.counter import naive_readings

AS_OF = dt.date(2027, 6, 30)
School = dict[str, Any]


@pytest.fixture(scope="module")
def school() -> School:
    return copy.deepcopy(dict(demo_document()))


def asked(command: str, school: School, folder: Path, *options: str) -> tuple[School, School]:
    path, report = folder / "school.json", folder / "report.json"
    path.write_text(json.dumps(school), encoding="utf-8")
    out = StringIO()
    call_command(command, str(path), "--report", str(report), *options, stdout=out)
    document = json.loads(out.getvalue())
    assert sound_document(document)
    return document, json.loads(report.read_text(encoding="utf-8"))


def short_rules(document: School, classroom: str) -> set[str]:
    """The rules a classroom is short of by the naive counter, with the week last put in the file all year and no
    day change: an odd week is not mended by all others."""
    week = [one for one in document["weeks"] if one["classroom"] == classroom and not one.get("draft")][-1]
    alone = {**document, "weeks": [{**week, "from": document["year"]["first_day"]}], "day_changes": []}
    rows = [row for row in naive_readings(alone, AS_OF) if row["classroom"] == classroom and row["part"] is None]
    return {row["rule"] for row in rows if row["status"] in ("short", "over")}


@pytest.mark.parametrize("classroom", ["room-3", "room-6"])
def test_each_way_of_mending_meets_the_rules_by_the_naive_counter_too(
    school: School, tmp_path: Path, classroom: str
) -> None:
    before = short_rules(school, classroom)
    # Time enough that a busy machine finds the same ways each time.
    options = ("--to", classroom, "--seconds", "60")
    first, report = asked("mend", school, tmp_path, *options)
    ways = report["ways"]
    assert 1 <= len(ways) <= 5 and report["taken"] == 1
    assert len({json.dumps(way["changes"]) for way in ways}) == len(ways), "each way is another"
    for number, way in enumerate(ways, start=1):
        document = first if number == 1 else asked("mend", school, tmp_path, *options, "--take", str(number))[0]
        assert way["shortfall"] == 0
        assert short_rules(document, classroom) <= before - {"us-ca-pe-1-6"}, way["changes"]


def test_a_mended_week_keeps_what_the_file_says_of_its_blocks(school: School, tmp_path: Path) -> None:
    document, report = asked("mend", school, tmp_path, "--to", "room-3")
    before = [one for one in school["weeks"] if one["classroom"] == "room-3" and not one.get("draft")][-1]
    after = [one for one in document["weeks"] if one["classroom"] == "room-3" and not one.get("draft")][-1]
    kept = [block for column in before["columns"] for block in column["blocks"]]
    same = [block for column in after["columns"] for block in column["blocks"] if block in kept]
    touched = len(report["changes"])
    assert touched > 0 and len(kept) - len(same) <= touched


def test_a_week_short_of_nothing_is_not_mended_and_says_so(school: School, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="room-21 is short of no rule"):
        asked("mend", school, tmp_path, "--to", "room-21")


@pytest.mark.parametrize("classroom", ["room-1", "room-3", "room-11"])
def test_a_drafted_week_meets_every_rule_by_the_naive_counter_too(
    school: School, tmp_path: Path, classroom: str
) -> None:
    document, report = asked(
        "draft", school, tmp_path, "--to", classroom, "--by", "math=12:00", "--at-a-stretch", "math=60"
    )
    assert (report["shortfall"], report["wishes"], report["collisions"]) == (0, 0, [])
    assert short_rules(document, classroom) == set()
    week = document["weeks"][-1]
    maths = [block for column in week["columns"] for block in column["blocks"] if block["activity"] == "math"]
    assert maths and all(block["end"] <= "12:00" for block in maths)


@pytest.mark.parametrize(
    ("command", "options", "said"),
    [
        ("draft", ["--to", "room-99"], "no classroom “room-99”"),
        ("draft", ["--to", "room-3", "--activities", "astronomy"], "no activity “astronomy”"),
        ("draft", ["--to", "room-3", "--by", "math"], "write it as math=12:00"),
        ("draft", ["--to", "room-3", "--at-a-stretch", "math=5"], "ten minutes or more"),
        ("mend", ["--to", "room-3", "--take", "9"], "take one of 1 to"),
        ("mend", ["--to", "room-99"], "no classroom “room-99”"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(
    school: School, tmp_path: Path, command: str, options: list[str], said: str
) -> None:
    with pytest.raises(CommandError, match=said):
        asked(command, school, tmp_path, *options)
