"""Ties between processes, so that none outlives the one it works for."""

import ctypes
import os
import signal
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

PR_SET_PDEATHSIG = 1
FULL_LOG = 5_000_000


def open_log(path: Path) -> BinaryIO:
    """A process's log, to add to; one that has grown full is put aside first, in the place of the last such."""
    with suppress(FileNotFoundError):
        if path.stat().st_size > FULL_LOG:
            path.replace(path.with_suffix(".old.log"))
    return path.open("ab")


def die_with_parent(number: signal.Signals) -> Callable[[], None] | None:
    """What a new process does first so that the kernel sends it `number` when its parent dies; None but on Linux."""
    if not sys.platform.startswith("linux"):
        return None
    libc = ctypes.CDLL(None, use_errno=True)
    parent = os.getpid()

    def ask_kernel() -> None:
        libc.prctl(PR_SET_PDEATHSIG, int(number), 0, 0, 0)
        if os.getppid() != parent:
            os.kill(os.getpid(), number)

    return ask_kernel
