"""Dumping a year: canonical, a fixed point of loading, and all that the format can say."""

import json
from pathlib import Path
from typing import Any

import pytest

from scheduling.minutes.definitions import PART_KEYS
from teamroom.school_file.checking import checked
from teamroom.school_file.form import schema
from tests.school_file.files import WHOLE, dump, load, random_file, whole

pytestmark = pytest.mark.django_db


def test_a_canonical_file_comes_out_as_it_went_in(tmp_path: Path) -> None:
    load(tmp_path, whole())
    assert dump() == json.dumps(WHOLE, indent=2, ensure_ascii=False) + "\n"


def test_the_dump_can_say_everything_the_schema_knows_and_nothing_else(tmp_path: Path) -> None:
    load(tmp_path, whole())
    document = json.loads(dump())
    faults, _ = checked(document)
    assert faults == []
    assert said_keys(document, schema()) == known_keys()


@pytest.mark.parametrize("seed", range(10))
def test_dumping_loading_and_dumping_again_gives_the_same_bytes(seed: int, tmp_path: Path) -> None:
    load(tmp_path, random_file(seed))
    first = dump()
    document = json.loads(first)
    document["school"]["name"] = "Elsewhere"
    load(tmp_path, document)
    assert dump(school="Elsewhere") == first.replace('"name": "Random School"', '"name": "Elsewhere"', 1)
    load(tmp_path, json.loads(first))
    assert dump(school="Random School") == first


def test_what_goes_without_saying_is_not_written(tmp_path: Path) -> None:
    school = whole()
    rule = school["rules"][0]
    rule["window"], rule["standing"], rule["caps"][0]["per"] = "run", "school", "day"
    rule["citation"]["url"] = ""
    school["rules"][1]["all"][1]["day_kinds"] = []
    school["rules"][1]["all"][2] |= {"short_window": "skip", "pool": {"except": []}, "sitting": 0}
    school["year"]["day_kinds"][1]["name"] = ""
    school["weeks"][0]["columns"][0]["kind"] = "regular"
    school["weeks"][0]["columns"][2]["blocks"] = []
    school["day_changes"][2] |= {"classrooms": [], "teams": [], "closed": False}
    expected = whole()
    del expected["rules"][0]["standing"], expected["rules"][0]["citation"]["url"]
    load(tmp_path, school)
    assert json.loads(dump()) == expected


def test_grades_with_the_same_bells_are_written_together(tmp_path: Path) -> None:
    school = whole()
    bell = school["bell_schedules"][0]
    school["bell_schedules"] = [{**bell, "grades": ["5"]}, school["bell_schedules"][1], {**bell, "grades": ["4"]}]
    load(tmp_path, school)
    assert [bell["grades"] for bell in json.loads(dump())["bell_schedules"]] == [["5", "4"], ["4"]]


def test_every_key_of_the_schema_is_described_and_no_object_takes_unknown_keys() -> None:
    for held in [schema(), *schema()["$defs"].values()]:
        if held.get("type") == "object":
            assert held["additionalProperties"] is False, held["title"]
        for key, value in held.get("properties", {}).items():
            assert "description" in value or "description" in resolved(value), key


def resolved(held: dict[str, Any]) -> dict[str, Any]:
    found: Any = schema()
    for step in held["$ref"].removeprefix("#/").split("/"):
        found = found[step]
    assert isinstance(found, dict)
    return found


def known_keys() -> set[tuple[str, str]]:
    """Every key the schema knows, with the title of the object it stands in."""
    objects = [schema(), *schema()["$defs"].values()]
    return {placed(held, key) for held in objects for key in held.get("properties", {})}


def said_keys(value: Any, held: dict[str, Any]) -> set[tuple[str, str]]:
    """Every key a document says, likewise."""
    while "$ref" in held:
        held = resolved(held)
    if isinstance(value, list):
        return {key for entry in value for key in said_keys(entry, held["items"])}
    found: set[tuple[str, str]] = set()
    if isinstance(value, dict):
        for key, entry in value.items():
            found |= {placed(held, key)} | said_keys(entry, held["properties"][key])
    return found


def placed(held: dict[str, Any], key: str) -> tuple[str, str]:
    """A part's keys are the same at a rule's top level."""
    is_part = held["title"] == "a rule" and key in PART_KEYS
    return ("a part of a rule" if is_part else held["title"]), key
