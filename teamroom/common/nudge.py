"""Telling the background work that there is something to do, rather than letting it wait for its clock."""

import logging

from celery import current_app
from django.db import transaction
from kombu.exceptions import OperationalError

log = logging.getLogger(__name__)


def nudge(task_name: str) -> None:
    """Run a sweep as soon as the caller's transaction is committed, at once where there is none.

    The name is the task's own, as in the beat table ("teamroom.members.tasks.send_letters"). A broker that is
    away is no fault: the rows are the queue and the clock comes by anyway.
    """
    transaction.on_commit(lambda: _send(task_name))


def _send(task_name: str) -> None:
    try:
        current_app.send_task(task_name, ignore_result=True, retry=False)
    except OperationalError as away:
        log.info("%s waits for the clock: %s", task_name, away)
