"""Nudging the background work from a page."""

import socket
import time
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from celery import Celery, current_app
from django.db import transaction

from teamroom.common.nudge import nudge

SWEEP = "teamroom.tasks.clear_expired_sessions"


def test_every_process_knows_the_broker_of_the_settings(settings: Any) -> None:
    assert current_app.main == "teamroom"
    assert current_app.conf.broker_url == settings.CELERY_BROKER_URL


def test_every_thread_of_a_process_knows_it_too() -> None:
    with ThreadPoolExecutor(max_workers=1) as pages:
        assert pages.submit(lambda: current_app.main).result() == "teamroom"


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("address", ["redis+socket:///nowhere/valkey.sock", "redis://127.0.0.1:{closed}/0"])
def test_a_broker_that_is_away_hinders_nobody(monkeypatch: pytest.MonkeyPatch, address: str) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        closed = taken.getsockname()[1]
    # An app of its own: closing the one of all tests would keep tasks that are read later out of it.
    away = Celery("away", set_as_current=False)
    away.config_from_object("django.conf:settings", namespace="CELERY")
    away.conf.update(broker_url=address.format(closed=closed), broker_write_url=address.format(closed=closed))
    monkeypatch.setattr("teamroom.common.nudge.current_app", away)
    begun = time.monotonic()
    with transaction.atomic():
        nudge(SWEEP)
    assert time.monotonic() - begun < 2
    away.close()
