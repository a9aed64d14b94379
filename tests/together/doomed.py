"""Editors who are killed before a chosen statement of their edit, each a forked process of its own.

The process that forks never opens a connection, so nothing of one is shared. It reads orders as
lines of JSON and answers each with how the editor ended.
"""

import json
import os
import signal
import sys
from collections.abc import Callable
from typing import Any

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

from django.db import connection, transaction  # noqa: E402 - the settings come first

from teamroom.members.models import Member  # noqa: E402 - as above
from tests.together.deeds import Editor  # noqa: E402 - as above
from tests.together.editor import use_database  # noqa: E402 - as above


class Doom:
    """Ends the process, as a power cut would, in place of the statement numbered `at`, from 1."""

    def __init__(self, at: int) -> None:
        self.left = at

    def __call__(self, execute: Callable[..., Any], *args: Any) -> Any:
        if connection.in_atomic_block:
            self.left -= 1
            if not self.left:
                die()
        return execute(*args)


def die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def edit(order: dict[str, Any]) -> str:
    """Edit as ordered; `at` 0 dies right after the commit, before anybody is answered."""
    editor = Editor(Member.objects.get(pk=order["member"]), order["weeks"], order["seed"])
    if order["at"]:
        with connection.execute_wrapper(Doom(order["at"])):
            outcome = editor.act(order["verb"])
    else:
        with transaction.atomic():
            transaction.on_commit(die)
            outcome = editor.act(order["verb"])
    return outcome.came


def main() -> None:
    for line in sys.stdin:
        order = json.loads(line)
        reading, writing = os.pipe()
        child = os.fork()
        if not child:
            use_database(sys.argv[1])
            os.write(writing, edit(order).encode())
            os._exit(0)
        os.close(writing)
        with os.fdopen(reading) as said:
            came = said.read()
        status = os.waitpid(child, 0)[1]
        print(json.dumps({"came": came, "killed": os.WIFSIGNALED(status)}), flush=True)


if __name__ == "__main__":
    main()
