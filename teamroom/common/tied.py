"""Runs a Python module as a process that ends when the one that started it does, however that one ended.

Run by `children`, never by hand: python -m teamroom.common.tied PIPE LOCK MODULE ARGUMENT...
"""

import os
import runpy
import signal
import sys
import threading
import time
from pathlib import Path

from teamroom.common.embedded.locks import FileLock

# As long as `children` gives: half of it for a task or an answer to end by itself.
PATIENCE = 10.0


def end_with_starter(pipe: int) -> None:
    """Wait until nobody holds the other end of the pipe, then end; with all that was forked here, if need be."""
    os.read(pipe, 1)
    os.kill(os.getpid(), signal.SIGTERM)
    time.sleep(PATIENCE)
    os.killpg(0, signal.SIGKILL)


def main() -> None:
    """Take the lock that says "one of them still runs", watch the pipe, become the module."""
    pipe, lock, module = int(sys.argv[1]), Path(sys.argv[2]), sys.argv[3]
    FileLock(lock).take(shared=True)
    threading.Thread(target=end_with_starter, args=(pipe,), daemon=True).start()
    sys.argv = sys.argv[3:]
    runpy.run_module(module, run_name="__main__", alter_sys=True)


if __name__ == "__main__":
    main()
