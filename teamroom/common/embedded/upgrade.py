"""Carries the database over from an older PostgreSQL, by that project's own pg_upgrade."""

import shutil
import subprocess
from contextlib import suppress
from pathlib import Path

from teamroom.common.embedded import lease, postgres
from teamroom.common.embedded.errors import CannotServe
from teamroom.common.embedded.leftovers import end_leftover
from teamroom.common.embedded.locks import FileLock
from teamroom.common.embedded.places import socket_folder
from teamroom.common.embedded.system_user import Runner, make_socket_folder, runner_for


def carry_over(data: Path, old_programs: Path) -> Path:
    """Make the cluster of the installation in `data` one of the present PostgreSQL; returns where the old one is kept.

    `old_programs` is the folder of the programs that made it. Nothing is changed unless all of it succeeds.
    Raises CannotServe, with pg_upgrade's own words.
    """
    lease.make_folders(data)
    keeper = FileLock(data / "lock" / "postgres.keeper")
    if not keeper.take(wait=False):
        raise CannotServe("The database is in use: stop Teamroom first (Ctrl-C where it was launched).")
    try:
        return _carry_over(data, old_programs.resolve())
    finally:
        keeper.let_go()


def _carry_over(data: Path, old_programs: Path) -> Path:
    runner = runner_for(data / "postgres")
    old = postgres.place_of_cluster(data, runner)
    if not (old / "PG_VERSION").exists():
        raise CannotServe(f"There is no database in {old} to carry over.")
    if not runner.can_enter(old_programs):
        raise CannotServe(
            f"{runner.name}, who runs the database, cannot enter {old_programs}: install the old programs in a folder "
            "that everybody may enter, such as /opt."
        )
    new = old.with_name("postgres.carried")
    shutil.rmtree(new, ignore_errors=True)
    programs = postgres.installed_programs(runner)
    end_leftover(runner, old_programs, old)
    # Both servers run for a moment, and both must know our user.
    postgres.write_who_may_connect(runner, old)
    told = runner.run([old_programs / "pg_controldata", old])
    checked = "Data page checksum version:           0" not in told.stdout
    postgres.create(
        runner, programs, new, durable=True, extra=[] if checked else ["--no-data-checksums"], database=False
    )
    done = _pg_upgrade(runner, socket_folder(data), old_programs, programs, old, new)
    if done.returncode != 0:
        raise CannotServe(f"pg_upgrade could not carry the database over, and nothing was changed:\n{done.stdout}")
    kept = old.with_name(f"postgres.{(old / 'PG_VERSION').read_text(encoding='ascii').strip()}")
    old.rename(kept)
    new.rename(old)
    return kept


def _pg_upgrade(
    runner: Runner, sockets: Path, old_programs: Path, programs: Path, old: Path, new: Path
) -> subprocess.CompletedProcess[str]:
    make_socket_folder(sockets)
    runner.own_folder(sockets / "postgres")
    folders: list[str | Path] = ["-b", old_programs, "-B", programs, "-d", old, "-D", new]
    folders += ["--socketdir", sockets / "postgres"]
    done = runner.run([programs / "pg_upgrade", *folders, "-U", postgres.ROLE], folder=new)
    for folder in (sockets / "postgres", sockets):
        with suppress(OSError):
            folder.rmdir()
    return done
