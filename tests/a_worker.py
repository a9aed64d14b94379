"""A background worker in a process of its own, on the tests' database, so that it can really be killed."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db import connection

PROJECT = Path(__file__).resolve().parents[1]
WORKER = """
import sys
import django
django.setup()
from django.db import connection
connection.settings_dict["NAME"] = sys.argv[1]
from scheduling import tasks
getattr(tasks, sys.argv[2])()
"""


@contextmanager
def a_worker(task: str) -> Iterator[subprocess.Popen[bytes]]:
    """A process that does one task of scheduling; whatever is left of it is killed at the end."""
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings"}
    name = str(connection.settings_dict["NAME"])
    worker = subprocess.Popen([sys.executable, "-c", WORKER, name, task], cwd=PROJECT, env=environment)
    try:
        yield worker
    finally:
        worker.kill()
        worker.wait()
