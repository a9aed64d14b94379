"""Where the embedded servers' files lie. Standard library only, and nothing here is made."""

import hashlib
import os
import tempfile
from pathlib import Path

# A Unix socket's path may have 107 bytes on Linux and 103 on macOS, and PostgreSQL's own file name needs 23 of them.
LONGEST_FOLDER = 80


def mark_of(data: Path) -> str:
    """A short name for the installation in `data`, for what must lie outside it."""
    return hashlib.sha256(os.fsencode(data)).hexdigest()[:12]


def socket_folder(data: Path) -> Path:
    """The folder for the sockets of the installation in `data`: inside it, unless its path is too long for a socket.

    Root's sockets are outside as well, because there the database runs as another user, who may not be able to
    enter the data folder's parents.
    """
    inside = data / "run"
    if os.geteuid() != 0 and len(os.fsencode(inside)) <= LONGEST_FOLDER:
        return inside
    if os.geteuid() == 0 and os.access("/run", os.W_OK):
        return Path(f"/run/teamroom-{mark_of(data)}")
    base = os.environ.get("XDG_RUNTIME_DIR") or tempfile.gettempdir()
    outside = Path(base) / f"teamroom-{os.geteuid()}-{mark_of(data)}"
    return outside if len(os.fsencode(outside)) <= LONGEST_FOLDER else Path("/tmp") / outside.name  # noqa: S108 - its owner and mode are checked before use


def valkey_socket(data: Path) -> Path:
    """The socket of the Redis-protocol server of the installation in `data`."""
    return socket_folder(data) / "valkey.sock"


def broker_url(data: Path) -> str:
    """The address of that server as redis-py takes it."""
    return f"unix://{valkey_socket(data)}"
