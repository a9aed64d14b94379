"""Who runs PostgreSQL. It refuses to run as root, so root lends it a system user."""

import os
import pwd
import shutil
import subprocess
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from teamroom.common.embedded.errors import CannotServe

# The first that the machine has. `nobody` is there in every container, and owns nothing else in a fresh one.
CANDIDATES = ("teamroom", "postgres", "_postgres", "nobody")

AS_ORDINARY_USER = (
    "PostgreSQL does not run as root, and root may not lend it a system user here: run this as an ordinary user."
)


@dataclass(frozen=True)
class Runner:
    """The user PostgreSQL runs as; `lent` when that is not the user who runs this program."""

    uid: int
    gid: int
    name: str
    lent: bool

    def run(
        self, command: list[str | Path], *, stdin: str = "", folder: Path = Path("/")
    ) -> subprocess.CompletedProcess[str]:
        """Run a command to its end as this user in a folder, its outputs together as text."""
        return subprocess.run(  # noqa: S603 - our own commands, no shell
            command,
            input=stdin,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            cwd=folder,
            env=bare_environment(),
            check=False,
            user=self.uid if self.lent else None,
            group=self.gid if self.lent else None,
            extra_groups=[] if self.lent else None,
        )

    def can_enter(self, folder: Path) -> bool:
        """Whether this user reaches the folder: asked of the kernel, not worked out from mode bits."""
        if not self.lent:
            return True
        return self.run(["/bin/sh", "-c", 'cd "$1"', "sh", folder]).returncode == 0

    def own_folder(self, folder: Path) -> None:
        """Make a folder that only this user (and root) may enter; refuse one that somebody else made.

        Raises CannotServe when it is there and not ours: whoever owns it could read what goes through it.
        """
        with suppress(FileExistsError):
            folder.mkdir(mode=0o700)
            self._give(folder)
        found = folder.lstat()
        if found.st_uid != self.uid or folder.is_symlink():
            raise CannotServe(f"{folder} belongs to somebody else: remove it, or set TEAMROOM_DATA to another folder.")
        folder.chmod(0o700)

    def _give(self, path: Path) -> None:
        if self.lent:
            try:
                os.chown(path, self.uid, self.gid)
            except PermissionError as error:
                path.rmdir()
                raise CannotServe(AS_ORDINARY_USER) from error


def bare_environment() -> dict[str, str]:
    """What a server needs to know of ours: nothing of Python's, and no language but plain C."""
    return {"PATH": os.environ.get("PATH", os.defpath), "LC_ALL": "C"}


def runner_for(*clusters: Path) -> Runner:
    """The user who runs the database: ourselves, or for root the owner of the cluster, or the first candidate.

    Raises CannotServe where root may not change the user or has none to lend.
    """
    if os.geteuid() != 0:
        return Runner(os.geteuid(), os.getegid(), _name(os.geteuid()), lent=False)
    owners = [cluster.stat().st_uid for cluster in clusters if cluster.exists()]
    for entry in [_entry(uid) for uid in owners if uid != 0] + [_entry(name) for name in CANDIDATES]:
        if entry is None:
            continue
        runner = Runner(entry.pw_uid, entry.pw_gid, entry.pw_name, lent=True)
        try:
            runner.run([shutil.which("true") or "/bin/true"])
        except PermissionError as error:
            raise CannotServe(AS_ORDINARY_USER) from error
        return runner
    raise CannotServe(AS_ORDINARY_USER)


def make_socket_folder(folder: Path) -> None:
    """A folder of our own for sockets. Raises CannotServe when somebody else made it."""
    me = runner_for() if os.geteuid() != 0 else Runner(0, 0, "root", lent=False)
    me.own_folder(folder)
    if os.geteuid() == 0:
        # The lent user passes through to its own folder inside, and can see nothing on the way.
        folder.chmod(0o711)


def _entry(who: int | str) -> pwd.struct_passwd | None:
    try:
        return pwd.getpwuid(who) if isinstance(who, int) else pwd.getpwnam(who)
    except KeyError:
        return None


def _name(uid: int) -> str:
    entry = _entry(uid)
    if entry is None:
        raise CannotServe(
            f"User number {uid} has no name on this machine, and PostgreSQL asks for one: add a line to /etc/passwd."
        )
    return entry.pw_name
