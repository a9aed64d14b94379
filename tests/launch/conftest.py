"""Running the real `manage.py` in processes of their own, as ourselves or as an ordinary user."""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from teamroom.common.embedded.postgres import outside_home

PROJECT = Path(__file__).resolve().parents[2]
PATIENCE = 60.0


class Installation:
    """One data folder and the commands run on it."""

    def __init__(self, data: Path, become: tuple[str, ...] = ()) -> None:
        self.data = data
        self.become = become
        self.running: list[subprocess.Popen[str]] = []

    def start(self, *arguments: str) -> subprocess.Popen[str]:
        """Start a command; whoever calls waits for it."""
        kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
        process = subprocess.Popen(
            [*self.become, sys.executable, "manage.py", *arguments],
            cwd=PROJECT,
            env={**kept, "TEAMROOM_DATA": str(self.data), "PYTHONDONTWRITEBYTECODE": "1"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self.running.append(process)
        return process

    def run(self, *arguments: str) -> tuple[int, str]:
        """Run a command to its end: its status and all it said."""
        process = self.start(*arguments)
        said, _ = process.communicate(timeout=PATIENCE)
        return process.returncode, said

    def launch(self, *options: str, port: int = 0) -> tuple[subprocess.Popen[str], str]:
        """Launch, on a free port unless told, and wait until it says where it is."""
        process = self.start("launch", "--port", str(port), *options)
        assert process.stdout is not None
        said = ""
        for line in process.stdout:
            said += line
            if line.startswith("Teamroom is at "):
                return process, line.removeprefix("Teamroom is at ").strip()
        raise AssertionError(f"launch ended: {said}")

    def processes(self) -> list[str]:
        """Every process that was started for this data: it is in their command, environment or working folder."""
        found = []
        for folder in Path("/proc").glob("[0-9]*"):
            try:
                facts = (folder / "cmdline").read_bytes() + (folder / "environ").read_bytes()
                facts += os.fsencode((folder / "cwd").readlink())
            except OSError:
                continue
            if os.fsencode(self.data) in facts:
                found.append(f"{folder.name} {(folder / 'cmdline').read_bytes()!r}")
        return found

    def clear(self) -> None:
        """End what a failed test left, and remove the data."""
        for process in self.running:
            if process.poll() is None:
                process.send_signal(signal.SIGTERM)
                process.wait(timeout=PATIENCE)
            if process.stdout is not None:
                process.stdout.close()
        for folder in (self.data, outside_home(self.data)):
            shutil.rmtree(folder, ignore_errors=True)


def as_ordinary_user() -> tuple[str, ...]:
    """What to put before a command so that an ordinary user runs it; nothing where we are one.

    Root becomes one in a user namespace of its own, where root's files are that user's; or, where the machine allows
    no namespaces, becomes the system user who owns nothing.
    """
    if os.geteuid() != 0:
        return ()
    for become in (
        ("unshare", "--user", "--map-user=65534", "--map-group=65534"),
        ("setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"),
    ):
        if shutil.which(become[0]) is None:
            continue
        ask = [*become, sys.executable, "-c", "import django, os; print(os.geteuid())"]
        if subprocess.run(ask, cwd=PROJECT, capture_output=True, text=True, check=False).stdout == "65534\n":
            return become
    pytest.skip("root can become no ordinary user who reaches this Python")


@pytest.fixture(scope="module")
def new_installation() -> Iterator[Callable[..., Installation]]:
    """Makes installations in short-lived folders that every user can reach."""
    made: list[Installation] = []
    tops: list[Path] = []

    def make(become: tuple[str, ...] = (), below: str = "data") -> Installation:
        # Not below pytest's own folder: root's is closed to others.
        top = Path(tempfile.mkdtemp(prefix="teamroom-launch-"))
        top.chmod(0o711)
        if "setpriv" in become:
            os.chown(top, 65534, 65534)
        made.append(Installation(top / below, become))
        tops.append(top)
        return made[-1]

    yield make
    for installation in made:
        installation.clear()
    for top in tops:
        shutil.rmtree(top, ignore_errors=True)


def wait_for(happened: Callable[[], object], seconds: float = 20.0) -> bool:
    """Whether it happens within that time; looked at often."""
    give_up = time.monotonic() + seconds
    while time.monotonic() < give_up:
        if happened():
            return True
        time.sleep(0.05)  # there is nothing to wait on but another process
    return False
