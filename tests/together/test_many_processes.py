"""Eight people, each a process of their own, edit one team's weeks at random while their connections are cut.

TEAMROOM_EDITS says how many edits they try together (1,000 unless told).
"""

import json
import os
import random
import subprocess
import sys
import threading
from collections import Counter
from pathlib import Path

import pytest
from django.db import connection

from scheduling.models import WeekChange
from tests.together.checking import editions_agree, faults
from tests.together.deeds import VERBS
from tests.together.editor import NAME
from tests.together.world import make_team

pytestmark = pytest.mark.django_db(transaction=True)
PROJECT = Path(__file__).resolve().parents[2]
EDITS = int(os.environ.get("TEAMROOM_EDITS", "1000"))
PEOPLE = 8
BETWEEN_CUTS = 0.15
CUT = """
    SELECT count(pg_terminate_backend(pid)) FROM (
        SELECT pid FROM pg_stat_activity WHERE datname = current_database() AND application_name = %s
        ORDER BY random() LIMIT 1
    ) AS one
"""


def cut_at_random(over: threading.Event, cuts: Counter[str]) -> None:
    """Cut somebody's connection now and then, at whatever they are just doing."""
    try:
        while not over.wait(random.uniform(0, 2 * BETWEEN_CUTS)):  # noqa: S311 - chance, no secret
            with connection.cursor() as cursor:
                cursor.execute(CUT, [NAME])
                cuts["cut"] += cursor.fetchone()[0]
    finally:
        connection.close()


def test_eight_editors_lose_nothing_however_often_they_are_cut_off() -> None:
    world = make_team(classrooms=4, members=PEOPLE)
    weeks = [str(week.pk) for week in world.weeks]
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings"}
    name = str(connection.settings_dict["NAME"])
    editors = [
        subprocess.Popen(
            [sys.executable, "-m", "tests.together.editor", name, str(member.pk), str(n), str(EDITS // PEOPLE), *weeks],
            cwd=PROJECT,
            env=environment,
            stdout=subprocess.PIPE,
            text=True,
        )
        for n, member in enumerate(world.members)
    ]
    over, cuts = threading.Event(), Counter[str]()
    cutter = threading.Thread(target=cut_at_random, args=(over, cuts))
    cutter.start()
    told = [editor.communicate()[0] for editor in editors]
    over.set()
    cutter.join()
    assert [editor.returncode for editor in editors] == [0] * PEOPLE
    outcomes = [json.loads(line) for lines in told for line in lines.splitlines()]
    came = Counter(outcome["came"] for outcome in outcomes)
    said = {pk for outcome in outcomes for pk in outcome.get("changes", ())}
    assert said <= set(WeekChange.objects.values_list("pk", flat=True)), "an edit that was answered is not there"
    assert faults(world.year) == []
    assert editions_agree(world.year) == []
    # They did meet: else this would prove nothing.
    assert came["done"] > EDITS / 4, came
    assert came["stale"] + came["gone"] > 0, came
    assert came["cut"] > 0, (came, cuts)
    done = Counter(outcome["verb"] for outcome in outcomes if outcome["came"] == "done")
    assert set(done) == set(VERBS), done
