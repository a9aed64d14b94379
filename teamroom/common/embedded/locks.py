"""Locks on files. The kernel lets go of them when their holder dies in whatever way, so none is ever stale."""

import fcntl
import os
from pathlib import Path


class FileLock:
    """One lock on one file, shared or exclusive. Children forked from the holder hold it too, other programs do not."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._file: int | None = None

    def take(self, *, shared: bool = False, wait: bool = True) -> bool:
        """Take the lock, or say False where `wait` is off and somebody else has it."""
        if self._file is None:
            self._file = os.open(self.path, os.O_RDWR | os.O_CREAT, 0o600)
        kind = fcntl.LOCK_SH if shared else fcntl.LOCK_EX
        try:
            fcntl.flock(self._file, kind if wait else kind | fcntl.LOCK_NB)
        except BlockingIOError:
            self.let_go()
            return False
        return True

    def let_go(self) -> None:
        """Give the lock back; harmless when it is not held."""
        if self._file is not None:
            os.close(self._file)
            self._file = None

    def is_free(self, *, to_share: bool = False) -> bool:
        """Whether somebody could take it now. Only to be asked by one who does not hold it."""
        probe = FileLock(self.path)
        try:
            return probe.take(shared=to_share, wait=False)
        finally:
            probe.let_go()
