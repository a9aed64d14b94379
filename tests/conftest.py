"""What every test run shares: a data folder of its own, gone when the run ends."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.cache import cache

from teamroom.common.embedded import lease
from teamroom.common.embedded.engine.base import close_connections
from teamroom.common.embedded.postgres import outside_home


@pytest.fixture(autouse=True)
def nobody_tried_before() -> Iterator[None]:
    """Each test begins with no attempt counted; the counters know nothing of a transaction that is taken back."""
    cache.clear()
    yield


def gone_with_the_run() -> bool:
    """Whether the data folder, and with it the whole database server, lasts for this run alone."""
    return Path(os.environ["TEAMROOM_DATA"]).name.startswith("teamroom-tests-")


@pytest.fixture(scope="session")
def django_db_keepdb() -> bool:
    """Dropping a database of a server that is about to be removed is wasted, and a late session hinders it."""
    return gone_with_the_run()


@pytest.hookimpl(trylast=True)
def pytest_unconfigure(config: pytest.Config) -> None:
    """Stop the servers that the tests started and remove their data; with xdist the last process out does it."""
    close_connections()
    lease.give_back_all()
    data = Path(os.environ["TEAMROOM_DATA"])
    if hasattr(config, "workerinput") or not gone_with_the_run():
        return
    if (data / "lock").exists():
        lease.wait_until_stopped(data, "postgres")
        lease.wait_until_stopped(data, "valkey")
    for folder in (data, outside_home(data)):
        shutil.rmtree(folder, ignore_errors=True)
