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
    "clear expired sessions": {
        "task": "teamroom.tasks.clear_expired_sessions",
        "schedule": crontab(hour="3", minute="17"),
    },
}
