"""The keeper: a small process that holds one server as long as anybody uses it.

Every user of the server holds a shared lock on one file; the keeper waits for an exclusive lock on the same file.
It gets that lock when the last user has gone, in whatever way it went, stops the server and ends. Whoever comes
while it stops waits for its shared lock, and then starts a new keeper.

Run by `lease`, never by hand: python -m teamroom.common.embedded.keeper FOLDER SERVER DURABLE PIPE
"""

import json
import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path
from types import FrameType
from typing import Protocol

from teamroom.common.embedded import postgres, valkey
from teamroom.common.embedded.errors import CannotServe
from teamroom.common.embedded.locks import FileLock
from teamroom.common.embedded.places import socket_folder
from teamroom.common.embedded.system_user import Runner, bare_environment, make_socket_folder
from teamroom.common.processes import die_with_parent

# Replaying the log after a crash in the middle of much work takes a while.
START_PATIENCE = 120.0


class Server(Protocol):
    """What the keeper must know of a server."""

    @property
    def name(self) -> str: ...
    @property
    def runner(self) -> Runner | None: ...
    @property
    def stop_signal(self) -> signal.Signals: ...
    def command(self) -> list[str | Path]: ...
    def answers(self, pid: int) -> bool: ...


class ServerEnded(Exception):
    """The server ended although nobody stopped it."""


class AskedToStop(Exception):
    """Somebody sent the keeper SIGTERM."""


def prepare_server(data: Path, name: str, *, durable: bool) -> Server:
    """The folder for the sockets and the named server's own preparations. Raises CannotServe."""
    make_socket_folder(socket_folder(data))
    return postgres.prepare(data, durable=durable) if name == "postgres" else valkey.prepare(data, durable=durable)


def start(server: Server, log: Path) -> subprocess.Popen[bytes]:
    """Start the server and wait until it answers. Raises CannotServe, with the log named, when it does not."""
    lent = server.runner if server.runner is not None and server.runner.lent else None
    with log.open("ab") as output:
        process = subprocess.Popen(  # noqa: S603 - our own command, no shell
            server.command(),
            stdin=subprocess.DEVNULL,
            stdout=output,
            stderr=output,
            cwd="/",
            env=bare_environment(),
            umask=0o077,
            user=lent.uid if lent else None,
            group=lent.gid if lent else None,
            extra_groups=[] if lent else None,
            preexec_fn=die_with_parent(server.stop_signal),
        )
    give_up = time.monotonic() + START_PATIENCE
    while not server.answers(process.pid):
        if process.poll() is not None or time.monotonic() > give_up:
            process.kill()
            process.wait()
            raise CannotServe(f"The embedded {server.name} did not start; its own words are in {log}")
        time.sleep(0.02)
    return process


def keep(process: subprocess.Popen[bytes], server: Server, users: FileLock) -> None:
    """Wait until nobody uses the server, then stop it. Raises ServerEnded when it ends before."""

    def child_changed(number: int, frame: FrameType | None) -> None:
        if process.poll() is not None:
            raise ServerEnded

    def stop_now(number: int, frame: FrameType | None) -> None:
        raise AskedToStop

    signal.signal(signal.SIGTERM, stop_now)
    signal.signal(signal.SIGCHLD, child_changed)
    try:
        child_changed(0, None)
        users.take()
    except AskedToStop:
        pass
    finally:
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    process.send_signal(server.stop_signal)
    process.wait()


def main() -> int:
    """Prepare, start, tell the starter through the pipe, keep."""
    data, name, durable, pipe = Path(sys.argv[1]), sys.argv[2], sys.argv[3] == "durable", int(sys.argv[4])
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGHUP, signal.SIG_IGN)
    # Waits only for others' glances at it: who starts a keeper has seen that there is none. Held to the end.
    FileLock(data / "lock" / f"{name}.keeper").take()
    where = data / "lock" / f"{name}.where"
    where.unlink(missing_ok=True)
    told: dict[str, str] = {}
    try:
        server, process = begin(data, name, durable=durable)
    except (CannotServe, OSError) as error:
        told = {"error": str(error)}
        remove_sockets(data, name)
    else:
        # Put in place whole: others wait for it, and read it at once.
        fresh = where.with_suffix(".fresh")
        facts = {"sockets": str(socket_folder(data) / name), "keeper": os.getpid()}
        fresh.write_text(json.dumps(facts), encoding="utf-8")
        fresh.replace(where)
    # The starter may have gone meanwhile; then there is nobody to tell.
    with suppress(BrokenPipeError), os.fdopen(pipe, "w", encoding="utf-8") as starter:
        json.dump(told, starter)
    if told:
        return 1
    try:
        keep(process, server, FileLock(data / "lock" / f"{name}.users"))
    except ServerEnded:
        return 1
    finally:
        where.unlink(missing_ok=True)
        remove_sockets(data, name)
    return 0


def begin(data: Path, name: str, *, durable: bool) -> tuple[Server, subprocess.Popen[bytes]]:
    """The server, started and answering. Raises CannotServe or OSError."""
    folder_in_use = FileLock(data / "lock" / "sockets")
    folder_in_use.take(shared=True)
    try:
        server = prepare_server(data, name, durable=durable)
        return server, start(server, data / "log" / f"{name}.log")
    finally:
        folder_in_use.let_go()


def remove_sockets(data: Path, name: str) -> None:
    """Leave no socket of a server that is gone, and no empty folder unless the other server is using it."""
    mine = "postgres/.s.PGSQL.*" if name == "postgres" else "valkey.sock"
    for left in socket_folder(data).glob(mine):
        left.unlink(missing_ok=True)
    folder_in_use = FileLock(data / "lock" / "sockets")
    # A second is long enough for the other keeper's own clearing up; while it starts its server, we leave the folder.
    give_up = time.monotonic() + 1
    while not folder_in_use.take(wait=False):
        if time.monotonic() > give_up:
            return
        time.sleep(0.02)
    for folder in (socket_folder(data) / "postgres", socket_folder(data)):
        with suppress(OSError):
            folder.rmdir()


if __name__ == "__main__":
    sys.exit(main())
