"""The containers' very commands, run here on embedded servers; and what every service must have."""

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
import yaml

from teamroom.common.embedded.lease import give_back, take
from teamroom.common.embedded.places import broker_url
from tests.launch.conftest import PROJECT, Installation, wait_for

COMPOSE: dict[str, Any] = yaml.safe_load((PROJECT / "compose.yaml").read_text(encoding="utf-8"))
SERVICES: dict[str, dict[str, Any]] = COMPOSE["services"]
OURS = ["web", "worker", "beat"]
SCRATCH = "/var/tmp"  # noqa: S108 - inside its container, where nobody else is


def test_every_lasting_service_restarts_and_says_whether_it_is_well() -> None:
    for name in [*OURS, "postgres", "broker"]:
        assert SERVICES[name]["restart"] == "unless-stopped", name
        assert SERVICES[name]["healthcheck"]["test"][0] in ("CMD", "CMD-SHELL"), name


def test_services_wait_for_the_tables_and_no_secret_has_a_default() -> None:
    for name in OURS:
        assert SERVICES[name]["depends_on"]["migrate"] == {"condition": "service_completed_successfully"}
        assert {"read_only", "cap_drop", "security_opt"} <= SERVICES[name].keys()
        assert SCRATCH in SERVICES[name]["tmpfs"]
        for secret in ("SECRET_KEY", "ALLOWED_HOSTS", "DATABASE_URL"):
            assert ":?" in SERVICES[name]["environment"][secret]
    assert set(SERVICES) == {*OURS, "postgres", "broker", "migrate"}


def test_the_image_runs_as_an_ordinary_user_on_hashed_requirements() -> None:
    lines = (PROJECT / "Dockerfile").read_text(encoding="utf-8").splitlines()
    assert "USER teamroom" in lines
    assert any("--require-hashes" in line for line in lines)


@pytest.fixture
def environment(new_installation: Callable[..., Installation], free_port: int) -> Iterator[dict[str, str]]:
    """What compose.yaml tells the services, with this machine's addresses and everything else as it says."""
    data = new_installation().data
    sockets = take(data, "postgres", durable=False).sockets
    take(data, "valkey")
    told = {name: str(value).split(":-")[-1].rstrip("}") for name, value in SERVICES["web"]["environment"].items()}
    yield told | {
        "SECRET_KEY": "only for this test 0123456789 0123456789 0123456789",
        "ALLOWED_HOSTS": "teamroom.example",
        "DATABASE_URL": f"postgresql://teamroom@/teamroom?host={sockets}",
        "REDIS_URL": broker_url(data),
        "UVICORN_PORT": str(free_port),
        "STATIC_ROOT": str(data / "static"),
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        "HOSTNAME": socket.gethostname(),
    }
    give_back(data)


@pytest.fixture
def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as held:
        port: int = held.getsockname()[1]
    return port


def here(words: list[str], folder: Path) -> list[str]:
    """The words with a folder of this test for the container's own scratch, which others here may use too."""
    return [word.replace(SCRATCH, str(folder)) for word in words]


def healthy(name: str, environment: dict[str, str], folder: Path) -> bool:
    kind, *words = here(SERVICES[name]["healthcheck"]["test"], folder)
    command = words if kind == "CMD" else ["sh", "-c", words[0].replace("$$", "$")]
    asked = subprocess.run(command, cwd=PROJECT, env=environment, capture_output=True, check=False)
    return asked.returncode == 0


def start(name: str, environment: dict[str, str], folder: Path) -> subprocess.Popen[bytes]:
    with (folder / f"{name}.log").open("wb") as log:
        command = here(SERVICES[name]["command"], folder)
        return subprocess.Popen(command, cwd=PROJECT, env=environment, stdout=log, stderr=log)


def test_the_commands_of_compose_bring_the_app_up(environment: dict[str, str], tmp_path: Path) -> None:
    gather = ["python", "manage.py", "collectstatic", "--noinput", "--verbosity", "0"]
    for command in (gather, SERVICES["migrate"]["command"]):
        subprocess.run(command, cwd=PROJECT, env=environment, check=True, capture_output=True)
    started = {name: start(name, environment, tmp_path) for name in OURS}
    try:
        for name in OURS:
            well = wait_for(partial(healthy, name, environment, tmp_path), 40)
            assert well, f"{name}: {(tmp_path / f'{name}.log').read_text()}"
    finally:
        for process in started.values():
            process.send_signal(signal.SIGTERM)
        ended = {name: process.wait(timeout=30) for name, process in started.items()}
    assert ended == dict.fromkeys(OURS, 0)
