"""The processes of one launch: started, watched, stopped together, and cleared up after a launch that was killed."""

import contextlib
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

from teamroom.common.embedded.locks import FileLock
from teamroom.common.processes import open_log

PROJECT = Path(__file__).resolve().parents[2]
PATIENCE = 12.0


class Children:
    """The child processes of one launch. Each is a session of its own, so Ctrl-C reaches only the launch itself."""

    def __init__(self, data: Path) -> None:
        self._data = data
        self._lock = FileLock(data / "lock" / "children")
        self._numbers = data / "lock" / "children.pids"
        self._running: dict[str, subprocess.Popen[bytes]] = {}
        # Held open by us alone and never written to: its end tells the children that we are gone.
        self._reading, self._writing = os.pipe()

    def clear_leftovers(self) -> None:
        """Wait for the children of a launch that was killed to end; after some patience, end them."""
        give_up = time.monotonic() + PATIENCE
        while not self._lock.is_free():
            if time.monotonic() > give_up:
                self._kill_leftovers()
                give_up = time.monotonic() + PATIENCE
            time.sleep(0.05)

    def _kill_leftovers(self) -> None:
        for word in self._numbers.read_text(encoding="ascii").split():
            # The number may be another program's by now.
            if "teamroom.common.tied" in command_line(int(word)):
                with contextlib.suppress(ProcessLookupError):
                    os.killpg(int(word), signal.SIGKILL)

    def start(
        self, name: str, module: str, *arguments: str, environment: dict[str, str], files: tuple[int, ...] = ()
    ) -> None:
        """Start `python -m module arguments`, writing to its own log; `files` are open files that it inherits."""
        tie = [str(self._reading), str(self._lock.path)]
        with open_log(self.log(name)) as log:
            self._running[name] = subprocess.Popen(  # noqa: S603 - our own programs, no shell
                [sys.executable, "-m", "teamroom.common.tied", *tie, module, *arguments],
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                cwd=PROJECT,
                env={**os.environ, "PYTHONUNBUFFERED": "1", **environment},
                pass_fds=[self._reading, *files],
                start_new_session=True,
            )
        numbers = " ".join(str(process.pid) for process in self._running.values())
        self._numbers.write_text(numbers, encoding="ascii")

    def log(self, name: str) -> Path:
        """Where a child's own words go."""
        return self._data / "log" / f"{name}.log"

    def ended(self) -> str | None:
        """The name of a child that ended although nobody stopped it."""
        return next((name for name, process in self._running.items() if process.poll() is not None), None)

    def stop(self) -> None:
        """Ask all to end, then wait; whoever takes too long is ended with all it started."""
        for process in self._running.values():
            if process.poll() is None:
                process.terminate()
        give_up = time.monotonic() + PATIENCE
        for process in self._running.values():
            try:
                process.wait(timeout=max(0.0, give_up - time.monotonic()))
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, signal.SIGKILL)
                process.wait()
        self._running.clear()


def command_line(pid: int) -> str:
    """The command of a running process, or nothing."""
    shown = Path(f"/proc/{pid}/cmdline")
    if shown.exists():
        return shown.read_bytes().replace(b"\0", b" ").decode(errors="replace")
    if Path("/proc/self").exists():
        return ""
    asked = ["ps", "-o", "command=", "-p", str(pid)]
    return subprocess.run(asked, capture_output=True, text=True, check=False).stdout  # noqa: S603 - a number as argument
