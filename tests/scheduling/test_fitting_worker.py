"""Workers that fit a week and are really killed, or told to stop in the middle of their search."""

import os
import signal
import time
from collections.abc import Callable

import pytest
from django.utils import timezone

from scheduling.models import Fitting, Week
from scheduling.services import fittings, queue
from teamroom.demo.load import load_demo
from teamroom.members.models import Classroom, Member
from tests.a_worker import a_worker

pytestmark = pytest.mark.django_db(transaction=True)
PATIENCE = 60.0


def until(holds: Callable[[Fitting], bool]) -> Fitting:
    """The one fitting, once something holds of it."""
    give_up = time.monotonic() + PATIENCE
    while time.monotonic() < give_up:
        fitting = Fitting.objects.get()
        if holds(fitting):
            return fitting
        time.sleep(0.05)  # there is nothing to wait on but another process
    raise AssertionError(f"it never came to it: {Fitting.objects.values().get()}")


@pytest.fixture
def asked(settings: object, tmp_path: object) -> Fitting:
    """A first grade's week for a class of two grades, whose day is other and whose rules are more: a long search."""
    settings.DATA_DIR = tmp_path  # type: ignore[attr-defined]  # pytest-django's
    load_demo()
    source = Week.objects.filter(classroom__key="room-3", draft=False).latest("starts")
    room = Classroom.objects.get(key="room-12")
    member = Member.objects.get(email="wilma@demo.example")
    return fittings.ask(room, kind="take over", starts=source.starts, member=member, source=source)


def test_a_search_whose_worker_is_killed_is_taken_up_again_and_ends_when_it_is_told_to(asked: Fitting) -> None:
    before = list(Week.objects.order_by("pk").values())
    with a_worker("do_fittings") as worker:
        until(lambda fitting: fitting.state == "working" and bool(fitting.ways))
        os.kill(worker.pid, signal.SIGKILL)
        worker.wait()
    assert Fitting.objects.get().state == "working"
    assert fittings.claim() is None, "it is not known to be dead yet"
    Fitting.objects.update(heard_at=timezone.now() - 2 * queue.GIVEN_UP)
    with a_worker("do_fittings") as worker:
        fitting = until(lambda fitting: fitting.taken == 2 and bool(fitting.ways))
        fittings.stop(fitting)
        told = time.monotonic()
        done = until(lambda fitting: not fitting.is_undone)
        assert worker.wait(timeout=PATIENCE) == 0
    assert done.state == "done" and done.ways[0]["blocks"]
    assert time.monotonic() - told < PATIENCE / 4
    assert list(Week.objects.order_by("pk").values()) == before
