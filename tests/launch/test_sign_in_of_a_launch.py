"""A launched installation with its own Valkey and worker: attempts are counted there, and letters go out at once."""

import re
import signal
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from urllib.error import HTTPError
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, OpenerDirector, build_opener

import pytest

from teamroom.common.embedded.places import broker_url
from tests.launch.conftest import Installation, wait_for

CLOCK = 10.0
"""Seconds between two sweeps of the clock alone."""


@pytest.fixture(scope="module")
def launched(new_installation: Callable[..., Installation]) -> Iterator[tuple[Installation, str]]:
    installation = new_installation()
    process, address = installation.launch("--demo")
    yield installation, address
    process.send_signal(signal.SIGTERM)
    assert process.wait(timeout=30) == 0


def send(browser: OpenerDirector, address: str, **fields: str) -> int:
    """The status that a page's form is answered with, after whatever it leads to."""
    with browser.open(address) as page:
        token = page.read().decode().split('name="csrfmiddlewaretoken" value="')[1].split('"')[0]
    try:
        with browser.open(address, urlencode({**fields, "csrfmiddlewaretoken": token}).encode()) as answer:
            return int(answer.status)
    except HTTPError as refused:
        return refused.code


def lies_in(folder: Path, number: int) -> bool:
    return len(list(folder.glob("*.eml"))) == number


def test_a_letter_is_sent_as_soon_as_it_is_written(launched: tuple[Installation, str]) -> None:
    """Four in a row, as the clock alone would send hardly any of them so soon."""
    folder = launched[0].data / "mail"
    took = []
    for number, name in enumerate(("priya", "tobin", "wilma", "odile"), 1):
        browser = build_opener(HTTPCookieProcessor())
        begun = time.monotonic()
        assert send(browser, f"{launched[1]}passphrase/lost/", email=f"{name}@demo.example") == 200
        assert wait_for(partial(lies_in, folder, number))
        took.append(time.monotonic() - begun)
    assert sorted(took)[1] < CLOCK / 2, took
    newest = max(folder.glob("*.eml"))
    link = re.search(rf"{re.escape(launched[1])}passphrase/new/\S+", newest.read_text())
    assert link is not None and b"Choose a new passphrase" in build_opener(HTTPCookieProcessor()).open(link[0]).read()


def test_attempts_are_counted_in_the_installations_own_valkey(launched: tuple[Installation, str]) -> None:
    answers = []
    for _ in range(6):
        browser = build_opener(HTTPCookieProcessor())
        answers.append(send(browser, f"{launched[1]}passphrase/lost/", email="nobody@demo.example"))
    assert answers == [200, 200, 200, 429, 429, 429]
    import redis

    counters = redis.Redis.from_url(broker_url(launched[0].data))
    keys = [key for key in counters.scan_iter("*reset_password*") if b"lock" not in key]
    assert keys and all(0 < counters.ttl(key) <= 24 * 60 * 60 for key in keys)
    counters.close()
