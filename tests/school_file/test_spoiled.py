"""Files spoiled at random: each is refused with faults or loads; nothing falls over in between."""

import copy
import json
from pathlib import Path
from random import Random
from typing import Any

import pytest
from django.db import transaction

from teamroom.school_file.checking import checked
from teamroom.school_file.faults import json_path
from teamroom.school_file.loading import load
from tests.school_file.files import dump, whole

SPOILT: list[Any] = [
    None, True, 0, -1, 1.5, 10**12, "", "x", "4", "regular", "minimum", "math", "mon", "1", "A-mon", "2026-09-09",
    "2026-13-01", "2030-01-01", "08:00", "24:00", "12:15", "1/2", [], {}, [None], ["x", "x"], [[]], {"x": 1},
    {"key": "x"}, "run", "month", "prorate", "sitting", "room14", "grade5", "\x00", "\ud800",
]  # fmt: skip


def places(value: Any, place: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Every place of a document below its top."""
    steps: list[tuple[Any, Any]] = []
    if isinstance(value, dict):
        steps = list(value.items())
    elif isinstance(value, list):
        steps = list(enumerate(value))
    return [found for step, held in steps for found in [(*place, step), *places(held, (*place, step))]]


def spoil(rng: Random, school: dict[str, Any]) -> list[str]:
    """Change, remove, double or swap one to three things of a school; what was done."""
    done = []
    for _ in range(rng.randint(1, 3)):
        every = places(school)
        place = rng.choice(every)
        held: Any = school
        for step in place[:-1]:
            held = held[step]
        other: Any = school
        for step in rng.choice(every):
            other = other[step]
        deed = rng.choice(["set", "set", "remove", "copy", "double", "add"])
        done.append(f"{deed} {json_path(place)}")
        do(rng, deed, held, place[-1], other)
    return done


def do(rng: Random, deed: str, held: Any, step: Any, other: Any) -> None:
    """One deed at a step of what holds it; `other` is something else of the same document."""
    strange = copy.deepcopy(rng.choice(SPOILT))
    if deed == "set":
        held[step] = strange
    elif deed == "remove":
        del held[step]
    elif deed == "copy":
        held[step] = copy.deepcopy(other)
    elif isinstance(held, list):
        held.append(copy.deepcopy(held[step]) if deed == "double" else strange)
    else:
        held[rng.choice(["x", "kind", "day", "at_most", "all", "credits", "closed", "from", "window"])] = strange


@pytest.mark.django_db
@pytest.mark.parametrize("seed", range(4))
def test_a_spoiled_file_is_refused_with_faults_or_loads_and_comes_out_the_same(
    seed: int, tmp_path: Path, settings: Any
) -> None:
    settings.DATA_DIR = tmp_path
    rng = Random(seed)  # noqa: S311  # a test's dice, not a secret
    outcomes = set()
    for _ in range(60):
        school = whole()
        done = spoil(rng, school)
        faults, sound = checked(school)
        outcomes.add(bool(faults))
        assert len({fault.place for fault in faults}) == len(faults), done
        assert all(str(fault).endswith((".", "?")) for fault in faults), faults
        if not faults:
            with transaction.atomic():
                load(sound)
                first = dump()
                load(checked(json.loads(first))[1])
                assert dump() == first, done
                transaction.set_rollback(True)
    assert outcomes == {True, False}
