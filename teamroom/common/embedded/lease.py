"""What a user of an embedded server takes: the right to find it running until the process ends.

The first to take a lease starts the server, the last to give one back stops it, and two at once do not hinder each
other. Nothing is started before a lease is taken.
"""

import atexit
import json
import os
import subprocess
import sys
import threading
import time
from dataclasses import dataclass
from pathlib import Path

from teamroom.common.embedded.errors import CannotServe
from teamroom.common.embedded.locks import FileLock
from teamroom.common.processes import open_log

PROJECT = Path(__file__).resolve().parents[3]
STOP_PATIENCE = 30.0
# A keeper gives its server two minutes.
START_PATIENCE = 130.0


@dataclass
class Lease:
    """A server in use. `sockets` is the folder of PostgreSQL's socket, or Valkey's socket itself without its suffix."""

    data: Path
    name: str
    sockets: Path
    keeper: int
    users: FileLock

    def server_runs(self) -> bool:
        """Whether the very server of this lease still runs; it may have crashed, and another user started a new one."""
        try:
            return (
                not _lock(self.data, self.name, "keeper").is_free() and _where(self.data, self.name)[1] == self.keeper
            )
        except FileNotFoundError:
            return False


_leases: dict[tuple[Path, str], Lease] = {}
_keepers: list[subprocess.Popen[bytes]] = []
_one_thread_at_a_time = threading.Lock()


def take(data: Path, name: str, *, durable: bool = True) -> Lease:
    """A lease on the server `postgres` or `valkey` of the installation in `data`, started if nobody runs it.

    Taken once per process and kept until `give_back_all` or the end of the process. Raises CannotServe.
    """
    with _one_thread_at_a_time:
        if (data, name) not in _leases:
            _leases[data, name] = _take(data, name, durable=durable)
        return _leases[data, name]


def is_taken(data: Path, name: str = "postgres") -> bool:
    """Whether this process has a lease on that server."""
    return (data, name) in _leases


def give_back(data: Path) -> None:
    """Give back the leases on one installation, and wait for the servers that nobody else uses to end."""
    with _one_thread_at_a_time:
        for lease in [lease for lease in _leases.values() if lease.data == data]:
            del _leases[data, lease.name]
            lease.users.let_go()
            wait_until_stopped(data, lease.name)


def give_back_all() -> None:
    """Give back all leases of this process."""
    for data in {data for data, _ in _leases}:
        give_back(data)


atexit.register(give_back_all)


def wait_until_stopped(data: Path, name: str) -> None:
    """Wait for a server to end, unless somebody uses it. To be asked by one who holds no lease on it."""
    keeper, users = _lock(data, name, "keeper"), _lock(data, name, "users")
    give_up = time.monotonic() + STOP_PATIENCE
    while time.monotonic() < give_up and not keeper.is_free():
        _reap()
        # Neither lock is free: the keeper has it, and stops. Only the exclusive one is taken: others share it.
        if not users.is_free() and users.is_free(to_share=True):
            return
        time.sleep(0.02)
    _reap()


def _reap() -> None:
    _keepers[:] = [keeper for keeper in _keepers if keeper.poll() is None]


def _take(data: Path, name: str, *, durable: bool) -> Lease:
    make_folders(data)
    door, users = _lock(data, name, "door"), _lock(data, name, "users")
    door.take()
    try:
        # Waits here while a keeper whose users have all gone stops its server.
        users.take(shared=True)
        _see_it_ready(data, name, durable=durable)
        sockets, keeper = _where(data, name)
    except BaseException:
        users.let_go()
        raise
    finally:
        door.let_go()
    return Lease(data, name, sockets, keeper, users)


def _see_it_ready(data: Path, name: str, *, durable: bool) -> None:
    """Start a keeper, or wait for one that somebody started who then left without seeing it ready."""
    give_up = time.monotonic() + START_PATIENCE
    while not (data / "lock" / f"{name}.where").exists() or _lock(data, name, "keeper").is_free():
        if _lock(data, name, "keeper").is_free():
            _start_keeper(data, name, durable=durable)
            return
        if time.monotonic() > give_up:
            raise CannotServe(f"The embedded {name} is busy; its own words are in {data / 'log' / name}.log")
        time.sleep(0.02)


def _where(data: Path, name: str) -> tuple[Path, int]:
    """What the keeper wrote when its server was ready: the sockets, and its own process id."""
    where = json.loads((data / "lock" / f"{name}.where").read_text(encoding="utf-8"))
    return Path(where["sockets"]), where["keeper"]


def make_folders(data: Path) -> None:
    """The data folder and what lies at its top. Raises CannotServe when it cannot be written to."""
    try:
        # The user to whom root lends the database passes through it; what lies in it is closed.
        data.mkdir(mode=0o711, parents=True, exist_ok=True)
        for name in ("lock", "log"):
            (data / name).mkdir(mode=0o700, exist_ok=True)
        (data / "lock" / "try").touch()
    except OSError as error:
        raise CannotServe(
            f"The data folder {data} cannot be used ({error.strerror}): make it writable, or set TEAMROOM_DATA to a "
            "folder that you may write to."
        ) from error


def _start_keeper(data: Path, name: str, *, durable: bool) -> None:
    reading, writing = os.pipe()
    with open_log(data / "log" / f"{name}.log") as log:
        arguments = [str(data), name, "durable" if durable else "quick", str(writing)]
        keeper = subprocess.Popen(  # noqa: S603 - our own program
            [sys.executable, "-m", "teamroom.common.embedded.keeper", *arguments],
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            cwd=PROJECT,
            pass_fds=[writing],
            # Ctrl-C in the terminal is for us, not for the server that others may be using.
            start_new_session=True,
        )
    # Kept to be asked after its end, or it would stay in the process table as long as we live.
    _keepers.append(keeper)
    os.close(writing)
    with os.fdopen(reading, encoding="utf-8") as answer:
        told = answer.read()
    if not told:
        raise CannotServe(f"The embedded {name} did not start; its own words are in {data / 'log' / name}.log")
    if "error" in (words := json.loads(told)):
        raise CannotServe(words["error"])


def _lock(data: Path, name: str, part: str) -> FileLock:
    return FileLock(data / "lock" / f"{name}.{part}")
