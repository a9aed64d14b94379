"""Every task of the beat table: twice is harmless."""

from datetime import timedelta
from importlib import import_module

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone

from teamroom.celery import app


@pytest.mark.django_db
def test_every_sweep_can_run_twice() -> None:
    Session.objects.create(session_key="old", session_data="", expire_date=timezone.now() - timedelta(days=1))
    Session.objects.create(session_key="new", session_data="", expire_date=timezone.now() + timedelta(days=1))
    for _ in range(2):
        for entry in app.conf.beat_schedule.values():
            module, name = entry["task"].rsplit(".", 1)
            getattr(import_module(module), name)()
    assert [session.session_key for session in Session.objects.all()] == ["new"]
