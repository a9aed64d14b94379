"""The Celery app and the whole beat table.

Rows are the queue and Celery is the clock: each task sweeps the rows that are due, so running one twice is harmless
and a broker that was away loses nothing.
"""

import os

from celery import Celery
from celery.schedules import crontab

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "teamroom.settings")

app = Celery("teamroom")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()

app.conf.beat_schedule = {
    # Who asks for a big change of a calendar nudges the worker; this is for lost nudges and for lost workers.
    "do calendar work": {"task": "scheduling.tasks.do_calendar_work", "schedule": 15.0},
    # The same for weeks that somebody asked to have fitted.
    "do fittings": {"task": "scheduling.tasks.do_fittings", "schedule": 15.0},
    "clear old fittings": {
        "task": "scheduling.tasks.clear_old_fittings",
        "schedule": crontab(hour="3", minute="42"),
    },
    "clear calendar previews": {
        "task": "scheduling.tasks.clear_calendar_previews",
        "schedule": crontab(hour="3", minute="37"),
    },
    "clear sent sheets": {
        "task": "scheduling.tasks.clear_sent_sheets",
        "schedule": crontab(minute="47"),
    },
    "clear expired sessions": {
        "task": "teamroom.tasks.clear_expired_sessions",
        "schedule": crontab(hour="3", minute="17"),
    },
    # A new letter nudges the sweep itself; this is for those that are tried again, and for a nudge that got lost.
    "send letters": {"task": "teamroom.members.tasks.send_letters", "schedule": 10.0},
    "forget sessions that are over": {
        "task": "teamroom.members.tasks.forget_sessions",
        "schedule": crontab(hour="3", minute="22"),
    },
    "forget old letters": {
        "task": "teamroom.members.tasks.forget_letters",
        "schedule": crontab(hour="3", minute="27"),
    },
}
