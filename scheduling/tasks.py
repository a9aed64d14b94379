"""Sweeps of scheduling: changes of the calendar that are too big for one answer, and what is kept for a day."""

import logging
from contextlib import suppress

import pghistory
from celery import shared_task

from scheduling.services import calendar_work, fittings, sheet_weeks
from scheduling.services.queue import TakenOver

log = logging.getLogger(__name__)


@shared_task
def do_calendar_work() -> None:
    """Do the changes of calendars that wait, and those whose worker was lost; one after the other."""
    while (work := calendar_work.claim()) is not None:
        # Who asked for it stands in the trail, as if they had done it in a request.
        with pghistory.context(user=work.asked_by_id), suppress(TakenOver):
            calendar_work.do(work)


@shared_task
def clear_calendar_previews() -> None:
    """Take previews away that are a day old."""
    calendar_work.clear_previews()


@shared_task
def do_fittings() -> None:
    """Fit the weeks that wait, and those whose worker was lost; one after the other."""
    while (fitting := fittings.claim()) is not None:
        with suppress(TakenOver):
            fittings.do(fitting)


@shared_task
def clear_old_fittings() -> None:
    """Take fittings away that are a week old."""
    fittings.clear_old()


@shared_task
def clear_sent_sheets() -> None:
    """Take spreadsheets away that were sent a day ago and that nobody said yes to."""
    sheet_weeks.clear_sent()
