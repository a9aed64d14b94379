"""What a crash leaves behind in a cluster, and how it is cleared before the next start.

Called only under the keeper's lock, so a server found here has nobody left who looks after it.
"""

import subprocess
import time
from pathlib import Path

from teamroom.common.embedded.errors import CannotServe
from teamroom.common.embedded.system_user import Runner

PATIENCE = 15.0


def end_leftover(runner: Runner, programs: Path, cluster: Path) -> None:
    """Stop an orphaned server of this cluster and remove a process file that points at somebody else.

    Raises CannotServe when processes of the old server do not end: starting a second one would ruin the data.
    """
    process_file = cluster / "postmaster.pid"
    if not process_file.exists():
        return
    first_line = process_file.read_text(encoding="utf-8").split("\n", 1)[0].strip()
    if first_line.isdigit() and _is_server_of(int(first_line), cluster):
        runner.run([programs / "pg_ctl", "stop", "-D", cluster, "-m", "fast", "-w", "-t", str(int(PATIENCE))])
    give_up = time.monotonic() + PATIENCE
    while _processes_in(cluster):
        if time.monotonic() > give_up:
            numbers = " ".join(str(pid) for pid in _processes_in(cluster))
            raise CannotServe(f"An old database server still uses {cluster}: end it with: kill -INT {numbers}")
        time.sleep(0.1)
    # After a restart of the machine or container its number may belong to any program, and PostgreSQL would refuse.
    process_file.unlink(missing_ok=True)


def _is_server_of(pid: int, cluster: Path) -> bool:
    if Path("/proc/self/cwd").exists():
        return pid in _processes_in(cluster)
    shown = subprocess.run(  # noqa: S603 - a number as argument
        ["ps", "-o", "command=", "-p", str(pid)],  # noqa: S607 - wherever the system has it
        capture_output=True,
        text=True,
        check=False,
    )
    return str(cluster) in shown.stdout and "postgres" in shown.stdout


def _processes_in(cluster: Path) -> list[int]:
    """Processes whose working folder is the cluster: on Linux, the server and each of its helpers."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            if (folder / "cwd").readlink() == cluster:
                found.append(int(folder.name))
        except OSError:
            continue
    return found
