"""The first administrator's link, as a launch on an empty folder prints it: over real HTTP."""

import signal
import subprocess
from http.cookiejar import CookieJar
from urllib.error import HTTPError
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, OpenerDirector, build_opener

from tests.launch.conftest import PATIENCE, Installation
from tests.launch.test_launch import Make

PERSON = {"name": "Fay Ostrander", "email": "fay@school.example", "passphrase": "seven quiet lanterns at dusk"}


def launch(installation: Installation) -> tuple[subprocess.Popen[str], str, str]:
    """A launch, where it is, and all it said about getting in."""
    process, address = installation.launch()
    said = ""
    assert process.stdout is not None
    for line in process.stdout:
        said += line
        if line.startswith("Ctrl-C"):
            return process, address, said
    raise AssertionError(f"launch ended: {said}")


def stop(process: subprocess.Popen[str]) -> None:
    process.send_signal(signal.SIGTERM)
    said, _ = process.communicate(timeout=PATIENCE)
    assert process.returncode == 0, said


def link_in(said: str) -> str:
    (found,) = (line.strip() for line in said.splitlines() if "/first/" in line)
    return found


def status_of(browser: OpenerDirector, address: str) -> int:
    try:
        with browser.open(address) as page:
            return int(page.status)
    except HTTPError as error:
        return error.code


def become(browser: OpenerDirector, link: str) -> str:
    """Fill in the form behind the link; the address that it leads to."""
    with browser.open(link) as page:
        token = page.read().decode().split('name="csrfmiddlewaretoken" value="')[1].split('"')[0]
    with browser.open(link, urlencode({**PERSON, "csrfmiddlewaretoken": token}).encode()) as page:
        assert "Begin the first school" in page.read().decode()
        return str(page.url)


def test_a_launch_on_an_empty_folder_prints_a_link_that_works_once(new_installation: Make) -> None:
    installation = new_installation()
    browser = build_opener(HTTPCookieProcessor(CookieJar()))

    first, address, said = launch(installation)
    old = link_in(said)
    assert old.startswith(f"{address}first/")
    # No default password anywhere: the link alone lets somebody in.
    assert "passphrase" not in said
    assert status_of(browser, old) == 200
    stop(first)

    second, address, said = launch(installation)
    fresh = link_in(said)
    assert fresh.rsplit("/", 2)[1] != old.rsplit("/", 2)[1]
    assert status_of(browser, f"{address}first/{old.rsplit('/', 2)[1]}/") == 404
    assert become(browser, fresh) == f"{address}begin/"
    assert status_of(build_opener(), fresh) == 404
    stop(second)

    third, _, said = launch(installation)
    assert "/first/" not in said and "Sign in with your e-mail address." in said
    stop(third)
