"""Deeds done at the same moment, each on a database connection of its own."""

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

from django.db import connection

from teamroom.common.errors import RuleBroken


def at_once(*deeds: Callable[[], object]) -> list[RuleBroken]:
    """Do them in threads that start together; the refusals among what they raised.

    Anything else that one of them raised is raised here.
    """
    gate = threading.Barrier(len(deeds))

    def do(deed: Callable[[], object]) -> None:
        try:
            gate.wait(timeout=20)
            deed()
        finally:
            connection.close()

    with ThreadPoolExecutor(len(deeds)) as threads:
        done = [threads.submit(do, deed) for deed in deeds]
    raised = [error for future in done if (error := future.exception()) is not None]
    refused = [error for error in raised if isinstance(error, RuleBroken)]
    for error in raised:
        if error not in refused:
            raise error
    return refused
