"""Taking up rows that wait for the background: each by one worker, again if that was lost, and not for ever."""

import datetime as dt
from typing import Any

from django.db.models import F, Q
from django.utils import timezone

from scheduling.models.queued import Queued

GIVEN_UP = dt.timedelta(seconds=60)
"""After how long without a word a worker is taken for dead. It says a word every few seconds, or with every hundred
classrooms."""
MOST_TAKINGS = 3
BROKE_OFF = "This broke off several times and nothing was changed: tell whoever runs the server, with the time."


class TakenOver(Exception):
    """Another worker has the row: this one was taken for dead."""


def claimed(model: type[Queued], **afresh: Any) -> int | None:
    """The id of the next row that waits, or whose worker is not heard from, for this worker alone; None if there is
    none. `afresh` are fields that begin anew with each taking up.

    A row that was taken up too often without an end is refused: what ends its workers would end the next.
    """
    now = timezone.now()
    rows = model._default_manager
    due = Q(state="waiting") | Q(state="working", heard_at__lt=now - GIVEN_UP)
    rows.filter(due, taken__gte=MOST_TAKINGS).update(state="refused", finished_at=now, fault=BROKE_OFF)
    for pk in rows.filter(due).order_by("asked_at", "pk").values_list("pk", flat=True)[:20]:
        taken = {"state": "working", "started_at": now, "heard_at": now, "taken": F("taken") + 1, **afresh}
        if rows.filter(due, pk=pk).update(**taken):
            return int(pk)
    return None
