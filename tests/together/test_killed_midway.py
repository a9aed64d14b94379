"""Every second edit's process is killed, at each statement there is: all of an edit is there, or nothing."""

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import connection

from scheduling.models import Reading, TeamBlock, Week, WeekChange
from teamroom.common.live.models import Topic
from tests.together.checking import faults, standing
from tests.together.deeds import OF_BLOCKS, OF_WEEKS, Editor
from tests.together.editor import NAME
from tests.together.world import TeamWorld, make_team

pytestmark = pytest.mark.django_db(transaction=True)
PROJECT = Path(__file__).resolve().parents[2]
PATIENCE = 20.0
MOST_STATEMENTS = 200
VERBS = ("add", *OF_BLOCKS, *OF_WEEKS)
FIRST = {"redo": "undo", "step out": "share", "in effect": "draft", "take out": "in effect"}
"""What has to be done before something can be."""
KEPT = (Week, TeamBlock, WeekChange, Reading, Topic)
Order = Callable[..., dict[str, Any]]


@pytest.fixture
def world() -> TeamWorld:
    return make_team(classrooms=2, members=2)


@pytest.fixture
def order(world: TeamWorld) -> Iterator[Order]:
    """Have an edit tried by a process that dies before its statement `at`; says what came of it."""
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings"}
    forker = subprocess.Popen(
        [sys.executable, "-m", "tests.together.doomed", str(connection.settings_dict["NAME"])],
        cwd=PROJECT,
        env=environment,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert forker.stdin is not None
    assert forker.stdout is not None

    def ordered(verb: str, at: int, seed: int) -> dict[str, Any]:
        weeks = [week.pk for week in world.weeks]
        told = {"member": world.members[0].pk, "weeks": weeks, "seed": seed, "verb": verb, "at": at}
        forker.stdin.write(json.dumps(told) + "\n")  # type: ignore[union-attr]  # seen above
        forker.stdin.flush()  # type: ignore[union-attr]  # seen above
        answer: dict[str, Any] = json.loads(forker.stdout.readline())  # type: ignore[union-attr]  # seen above
        wait_until_gone()
        return answer

    yield ordered
    forker.stdin.close()
    forker.wait()


def wait_until_gone() -> None:
    """Until the database has noticed that the process is dead."""
    give_up = time.monotonic() + PATIENCE
    while time.monotonic() < give_up:
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND application_name = %s",
                [NAME],
            )
            if cursor.fetchone() == (0,):
                return
        time.sleep(0.005)  # there is nothing to wait on but another process
    raise AssertionError("the dead editor's connection is still there")


def prepare(own: Editor, verb: str) -> None:
    """Do what comes before a verb, and what comes before that."""
    if verb in FIRST:
        prepare(own, FIRST[verb])
        own.act(FIRST[verb])


def everything(world: TeamWorld) -> list[object]:
    weeks = [(week.pk, standing(week)) for week in Week.objects.filter(classroom__year=world.year).order_by("pk")]
    return [weeks, *(list(model.objects.order_by("pk").values()) for model in KEPT)]


@pytest.mark.parametrize("verb", VERBS)
def test_an_edit_killed_at_any_statement_leaves_nothing_and_the_next_goes_well(
    verb: str, world: TeamWorld, order: Order
) -> None:
    other = Editor(world.members[1], [week.pk for week in world.weeks], seed=7)
    own = Editor(world.members[0], [week.pk for week in world.weeks], seed=8)
    killed = 0
    for at in range(1, MOST_STATEMENTS):
        assert own.act("add").came in ("done", "refused")
        prepare(own, verb)
        before = everything(world)
        answer = order(verb, at, seed=at)
        if answer["killed"]:
            killed += 1
            assert everything(world) == before, f"something of a {verb} was kept that was killed before statement {at}"
        elif answer["came"] == "done":
            break
        other.act()
    else:
        raise AssertionError(f"no {verb} came to its end")
    assert killed > 5
    assert faults(world.year) == []


@pytest.mark.parametrize("verb", VERBS)
def test_an_edit_killed_right_after_its_commit_is_there_whole(verb: str, world: TeamWorld, order: Order) -> None:
    own = Editor(world.members[0], [week.pk for week in world.weeks], seed=8)
    for seed in range(40):
        own.act("add")
        prepare(own, verb)
        before = everything(world)
        if order(verb, 0, seed=seed)["killed"] and everything(world) != before:
            break
    else:
        raise AssertionError(f"no {verb} was done")
    assert faults(world.year) == []
