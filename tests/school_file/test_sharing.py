"""What classrooms share in a school file: resources, their uses, team blocks and drafts, there and back again."""

import copy
import datetime as dt
import json
import tempfile
from pathlib import Path
from random import Random
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from scheduling.models import Block, BlockUse, Reading, SharedResource, TeamBlock, Week, WeekChange
from teamroom.dates.models import SchoolYear
from tests.minutes.naive.counter import naive_readings
from tests.minutes.naive.schools import Size, random_school
from tests.scheduling.team_rooms import disagreeing
from tests.school_file.fault_table import held_again
from tests.school_file.files import School, changed, dump, load, whole
from tests.school_file.test_audit import audit_json, in_order, without_traces
from tests.together.checking import faults

pytestmark = pytest.mark.django_db
FREE = {"start": "23:00", "end": "23:40"}
"""When no random block is, so that a team block finds room in every column."""


@pytest.fixture(autouse=True)
def _data_folder(tmp_path: Path, settings: Any) -> None:
    settings.DATA_DIR = tmp_path / "data"


def sharing_school(rng: Random) -> School:
    """A random school whose classrooms share whatever they can."""
    school = random_school(rng, Size(weeks=(1, 4), classrooms=4, rules=3, versions=3))
    school["shared_resources"] = [
        {"key": f"r{n}", "name": f"Cart {n}", "capacity": rng.randint(1, 3)} for n in range(rng.randint(0, 3))
    ]
    for activity in school["activities"]:
        activity["frees_teacher"] = rng.random() < 0.3
    _draft_some(rng, school)
    for key in range(rng.randint(0, 4)):
        _hold_together(rng, school, f"any {key}")
    for block in blocks(school):
        some = [one for one in school["shared_resources"] if rng.random() < 0.2]
        if some:
            uses = [{"resource": one["key"], "amount": rng.randint(1, one["capacity"])} for one in some]
            block["uses"] = rng.sample(uses, len(uses))
    return school


def _draft_some(rng: Random, school: School) -> None:
    first, last = (dt.date.fromisoformat(school["year"][key]) for key in ("first_day", "last_day"))
    for week in [week for week in school["weeks"] if rng.random() < 0.4]:
        draft = copy.deepcopy(week) | {"draft": True, "draft_name": rng.choice(["", "A try"])}
        draft["from"] = rng.choice([week["from"], f"{first + (last - first) * rng.random()}"[:10]])
        for column in draft["columns"]:
            column["blocks"] = [block for block in column.get("blocks", ()) if rng.random() < 0.5]
        school["weeks"].insert(rng.randint(0, len(school["weeks"])), draft)


def _hold_together(rng: Random, school: School, key: str) -> None:
    """The same block in some weeks of one team, each with what it uses itself."""
    teams = {room["key"]: room["team"] for room in school["classrooms"]}
    team = rng.choice(sorted(set(teams.values())))
    alike = {**FREE, "activity": rng.choice(school["activities"])["key"], "why": rng.choice(["", "all hands"])}
    if rng.random() < 0.5:
        alike["credits"] = [{"activity": rng.choice(school["activities"])["key"], "minutes": rng.randint(1, 40)}]
    columns = [column for week in school["weeks"] for column in week["columns"]]
    if not columns:
        return
    place = rng.choice(columns)
    for week in school["weeks"]:
        for column in week["columns"] if teams[week["classroom"]] == team else ():
            same = all(column.get(step) == place.get(step) for step in ("day", "kind"))
            if same and not any(block["start"] == FREE["start"] for block in column.setdefault("blocks", [])):
                column["blocks"].append({**copy.deepcopy(alike), "team_block": key})


def blocks(school: School) -> list[dict[str, Any]]:
    columns = [column for week in school.get("weeks", ()) for column in week.get("columns", ())]
    return [block for column in columns for block in column.get("blocks", ())]


def counting(school: School) -> School:
    """The school without its drafts."""
    return {**school, "weeks": [week for week in school["weeks"] if not week.get("draft")]}


def shared_in(school: School) -> list[Any]:
    """All that is shared in a file, whatever it calls its team blocks and leaves unsaid."""
    met: dict[str, int] = {}
    told: list[Any] = [
        [(one["key"], one["name"], one.get("capacity", 1)) for one in school.get("shared_resources", ())],
        [activity["key"] for activity in school["activities"] if activity.get("frees_teacher")],
        [(w["classroom"], w["from"], w.get("draft", False), w.get("draft_name", "")) for w in school.get("weeks", ())],
    ]
    for block in blocks(school):
        held = met.setdefault(block["team_block"], len(met)) if "team_block" in block else None
        uses = sorted((use["resource"], use.get("amount", 1)) for use in block.get("uses", ()))
        told.append((block["start"], block["activity"], uses, held))
    return told


# Shrinking a whole school in a database takes longer than reading one that failed.
@settings(
    max_examples=10,
    deadline=None,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(seed=st.integers(0, 2**32 - 1))
def test_what_is_shared_goes_in_and_comes_out_and_drafts_count_for_nothing(seed: int) -> None:
    school = sharing_school(Random(seed))  # noqa: S311 - a test's school, no secret
    with transaction.atomic(), tempfile.TemporaryDirectory() as folder:
        load(Path(folder), school)
        first = dump()
        assert shared_in(json.loads(first)) == shared_in(school)
        readings = audit_json("--windows", "worst", as_of=school["year"]["last_day"])
        as_of = dt.date.fromisoformat(school["year"]["last_day"])
        assert without_traces(readings) == in_order(school, naive_readings(counting(school), as_of, "worst"))
        assert disagreeing() == []
        assert faults(SchoolYear.objects.get()) == []
        load(Path(folder), json.loads(first))
        assert dump() == first
        assert audit_json("--windows", "worst", as_of=school["year"]["last_day"]) == readings
        transaction.set_rollback(True)


def test_blocks_of_one_key_are_one_team_block_of_their_team(tmp_path: Path) -> None:
    load(tmp_path, changed(whole(), {**held_again(uses=[{"resource": "lab"}]), "classrooms[2].retired": True}))
    first, second = Block.objects.filter(together__isnull=False).order_by("pk")
    assert first.together == second.together == TeamBlock.objects.get()
    assert TeamBlock.objects.get().team.key == "grade5"
    assert list(BlockUse.objects.filter(block=second).values_list("resource__key", "amount")) == [("lab", 1)]
    kept = WeekChange.objects.get(week=second.column.week).after[0]
    assert (kept["uses"], kept["together"]) == ([["lab", 1]], second.together_id)


def test_a_loaded_draft_has_no_readings_and_no_maker(tmp_path: Path) -> None:
    school = whole()
    load(tmp_path, counting(school))
    before = list(Reading.objects.order_by("pk").values("rule__key", "classroom__key", "part", "planned", "status"))
    load(tmp_path, school)
    drafts = Week.objects.filter(draft=True)
    assert list(drafts.values_list("draft_name", flat=True)) == ["After the break", ""]
    assert not drafts.filter(drafted_by__isnull=False).exists()
    after = list(Reading.objects.order_by("pk").values("rule__key", "classroom__key", "part", "planned", "status"))
    assert after == before


def test_a_week_in_effect_says_no_name_of_a_draft(tmp_path: Path) -> None:
    load(tmp_path, whole())
    Week.objects.filter(draft=False).update(draft_name="As it was once called")
    assert json.loads(dump()) == whole()


def test_loading_replaces_what_was_shared(tmp_path: Path) -> None:
    load(tmp_path, whole())
    school = whole()
    school["shared_resources"] = [{"key": "lab", "name": "The lab", "capacity": 3}]
    for block in blocks(school):
        block.pop("uses", None)
        block.pop("team_block", None)
    load(tmp_path, school)
    assert list(SharedResource.objects.values_list("key", "name", "capacity")) == [("lab", "The lab", 3)]
    assert not TeamBlock.objects.exists() and not BlockUse.objects.exists()


def test_the_random_schools_share_what_can_be_shared() -> None:
    """What the random test above relies on."""
    schools = [sharing_school(Random(seed)) for seed in range(20)]  # noqa: S311 - a test's schools, no secret
    held = [{block.get("team_block") for block in blocks(school)} - {None} for school in schools]
    rooms = [
        {
            (week["classroom"], block["team_block"])
            for week in counting(school)["weeks"]
            for column in week["columns"]
            for block in column["blocks"]
            if "team_block" in block
        }
        for school in schools
    ]
    assert sum(len(found) > len(keys) for found, keys in zip(rooms, held, strict=True)) > 3
    assert sum(counting(school)["weeks"] != school["weeks"] for school in schools) > 8
    assert sum(any(block.get("uses") for block in blocks(school)) for school in schools) > 8
