"""What every test run shares: a data folder of its own, gone when the run ends."""

import os
import shutil
from pathlib import Path

import pytest

from teamroom.common.embedded import lease
from teamroom.common.embedded.engine.base import close_connections
from teamroom.common.embedded.postgres import outside_home


@pytest.hookimpl(trylast=True)
def pytest_unconfigure(config: pytest.Config) -> None:
    """Stop the servers that the tests started and remove their data; with xdist the last process out does it."""
    close_connections()
    lease.give_back_all()
    data = Path(os.environ["TEAMROOM_DATA"])
    if hasattr(config, "workerinput") or not data.name.startswith("teamroom-tests-"):
        return
    if (data / "lock").exists():
        lease.wait_until_stopped(data, "postgres")
        lease.wait_until_stopped(data, "valkey")
    for folder in (data, outside_home(data)):
        shutil.rmtree(folder, ignore_errors=True)
