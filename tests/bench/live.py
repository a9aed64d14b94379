"""From a change's commit to every open stream, against a control that streams with no app in between."""

import statistics
import time
from collections.abc import Callable, Mapping, Sequence
from contextlib import ExitStack

from django.db import connection, transaction

from teamroom.common.live.announcing import announce, classroom_topic
from teamroom.common.live.models import Topic
from teamroom.school_file.loading import load
from tests.bench.bare_streams import CHANNEL
from tests.bench.browser import PORT, Browser, administrator_of, serving
from tests.bench.measures import Line
from tests.bench.reader import Request, reading
from tests.bench.school import school_of

STREAMS = 200
CHANGES = 200
WARM = 10
PAUSE = 0.03
"""Seconds between two changes: nobody waits for the one before."""
BARE = "tests.bench.bare_streams:application"
BARE_PORT = 8732


def run() -> list[Line]:
    year = load(school_of(2, seed=4) | {"school": {"name": "Followed school", "time_zone": "UTC"}}).year
    administrator_of(year.school)
    topic = classroom_topic(year.classrooms.values_list("pk", flat=True)[0])
    with connection.cursor() as cursor:
        cursor.execute("CREATE TABLE IF NOT EXISTS bare (number serial PRIMARY KEY)")
    return [line for processes in (1, 2) for line in _measured(topic, processes)]


def _measured(topic: str, processes: int) -> list[Line]:
    with ExitStack() as running:
        running.enter_context(serving(processes))
        running.enter_context(serving(processes, app=BARE, port=BARE_PORT))
        browser = Browser()
        browser.sign_in()
        requests = {
            "app": Request(PORT, f"/live/?topic={topic}", browser.cookie, STREAMS),
            "bare": Request(BARE_PORT, "/", "", STREAMS),
        }
        read = running.enter_context(reading(requests))
        before = Topic.objects.filter(name=topic).values_list("edition", flat=True).first() or 0
        committed: dict[str, list[int]] = {"app": [], "bare": []}
        for number in range(1, CHANGES + 1):
            committed["app"].append(_moment_of_commit(lambda: announce(topic)))
            time.sleep(PAUSE)
            committed["bare"].append(_moment_of_commit(lambda: _notify(number)))  # noqa: B023 - called at once
            time.sleep(PAUSE)
        time.sleep(1)
    app = _delays(committed["app"], read.moments["app"], before)
    bare = _delays(committed["bare"], read.moments["bare"], 0)
    what = f"to {STREAMS} open streams, {processes} web process{'es' if processes > 1 else ''}"
    lines = []
    for share in (50, 95):
        one, other = _percentile(app, share), _percentile(bare, share)
        lines += [
            Line("live", f"p{share} from a change's commit {what}", one, one / other, "the control"),
            Line("live", f"  control: p{share} with no app in between", other),
        ]
    return lines


def _moment_of_commit(change: Callable[[], object]) -> int:
    """Make a change and say when its commit began: the one with its row raised, the other with a row written."""
    with transaction.atomic():
        change()
        return time.monotonic_ns()


def _notify(number: int) -> None:
    with connection.cursor() as cursor:
        cursor.execute("INSERT INTO bare DEFAULT VALUES; SELECT pg_notify(%s, %s)", [CHANNEL, str(number)])


def _delays(committed: Sequence[int], moments: Mapping[str, Sequence[int]], before: int) -> list[float]:
    """Milliseconds from each change to each stream, but for the first few. Every stream must have had every change."""
    found = []
    for place, moment in enumerate(committed):
        arrived = moments.get(str(before + place + 1), ())
        if len(arrived) != STREAMS:
            raise AssertionError(f"change {place + 1} came to {len(arrived)} of {STREAMS} streams")
        if place >= WARM:
            found += [(at - moment) / 1e6 for at in arrived]
    return found


def _percentile(found: Sequence[float], share: int) -> float:
    return statistics.quantiles(found, n=100)[share - 1]
