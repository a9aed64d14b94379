"""`manage.py launch`, as somebody runs it: real processes, real servers."""

import http.client
import json
import os
import signal
import socket
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlencode, urlsplit
from urllib.request import HTTPCookieProcessor, build_opener

import psycopg
import pytest
from celery import Celery

from teamroom.common.embedded.places import valkey_socket
from teamroom.management.commands.launch import listen
from tests.launch.conftest import Installation, as_ordinary_user, wait_for

Make = Callable[..., Installation]


@pytest.fixture(scope="module")
def launched(new_installation: Make) -> Iterator[tuple[Installation, str]]:
    """One launch, with the demo, for the tests that only look at it."""
    installation = new_installation()
    process, address = installation.launch("--demo")
    yield installation, address
    process.send_signal(signal.SIGTERM)
    assert process.wait(timeout=30) == 0


def get(address: str, path: str) -> tuple[int, bytes]:
    parts = urlsplit(address)
    asking = http.client.HTTPConnection(parts.hostname or "", parts.port, timeout=10)
    try:
        asking.request("GET", path)
        answer = asking.getresponse()
        return answer.status, answer.read()
    finally:
        asking.close()


def connect(installation: Installation) -> psycopg.Connection[tuple[object, ...]]:
    where = json.loads((installation.data / "lock" / "postgres.where").read_text())
    return psycopg.connect(host=where["sockets"], user="teamroom", dbname="teamroom", autocommit=True)


def test_the_pages_answer(launched: tuple[Installation, str]) -> None:
    assert get(launched[1], "/health/") == (200, b"ok")
    assert get(launched[1], "/live/nothing")[0] == 404


def test_the_demo_can_be_signed_in_to_as_the_closed_file_says(launched: tuple[Installation, str]) -> None:
    file = launched[0].data / "demo-sign-in.txt"
    assert file.stat().st_mode & 0o777 == 0o600
    said = file.read_text()
    email = said.splitlines()[1].rsplit(": ", 1)[1]
    passphrase = said.rsplit("passphrase ", 1)[1].strip()
    browser = build_opener(HTTPCookieProcessor())
    with browser.open(f"{launched[1]}sign-in/") as page:
        token = page.read().decode().split('name="csrfmiddlewaretoken" value="')[1].split('"')[0]
    form = urlencode({"login": email, "password": passphrase, "csrfmiddlewaretoken": token})
    with browser.open(f"{launched[1]}sign-in/", form.encode()) as page:
        assert page.url == launched[1]


def test_a_second_launch_on_the_same_data_says_where_the_first_is(launched: tuple[Installation, str]) -> None:
    status, said = launched[0].run("launch", "--port", "0")
    assert status == 1
    assert said.count("\n") == 1
    assert "already runs" in said and launched[1] in said and "kill" in said


def test_another_command_uses_the_running_database(launched: tuple[Installation, str]) -> None:
    status, said = launched[0].run("migrate", "--check")
    assert (status, said) == (0, "")
    assert get(launched[1], "/health/")[0] == 200


def test_a_worker_does_what_comes_over_the_socket(launched: tuple[Installation, str]) -> None:
    with connect(launched[0]) as database:
        database.execute("INSERT INTO django_session VALUES ('old', '', now() - interval '1 day')")
        sender = Celery(broker=f"redis+socket://{valkey_socket(launched[0].data)}", set_as_current=False)
        sender.send_task("teamroom.tasks.clear_expired_sessions")
        old = "SELECT 1 FROM django_session WHERE session_key = 'old'"
        assert wait_for(lambda: database.execute(old).fetchone() is None)
        sender.close()


def test_only_the_owner_can_reach_the_sockets(launched: tuple[Installation, str]) -> None:
    where = Path(json.loads((launched[0].data / "lock" / "postgres.where").read_text())["sockets"])
    assert where.stat().st_mode & 0o777 == 0o700
    assert valkey_socket(launched[0].data).stat().st_mode & 0o777 == 0o700
    with connect(launched[0]) as database:
        assert database.execute("SHOW listen_addresses").fetchone() == ("",)


def test_a_busy_port_is_said_before_anything_starts(new_installation: Make) -> None:
    installation = new_installation()
    with socket.create_server(("127.0.0.1", 0)) as other:
        status, said = installation.run("launch", "--port", str(other.getsockname()[1]))
    assert status == 1
    assert said.count("\n") == 1 and "choose another" in said
    assert not (installation.data / "postgres").exists()


def test_what_comes_to_its_port_is_answered_without_waiting_for_more_to_send() -> None:
    with listen("127.0.0.1", 0) as listening, socket.create_connection(listening.getsockname()):
        accepted, _ = listening.accept()
        with accepted:
            assert accepted.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)


def test_a_folder_that_cannot_be_written_is_said_in_one_line(new_installation: Make) -> None:
    installation = new_installation(as_ordinary_user())
    installation.data.parent.chmod(0o555)
    status, said = installation.run("launch", "--port", "0")
    assert status == 1
    assert said.count("\n") == 1 and "make it writable" in said


def test_sigterm_to_an_ordinary_users_launch_leaves_no_process(new_installation: Make) -> None:
    installation = new_installation(as_ordinary_user())
    process, address = installation.launch()
    assert get(address, "/health/") == (200, b"ok")
    process.send_signal(signal.SIGTERM)
    assert process.wait(timeout=30) == 0
    assert installation.processes() == []
    # Nobody was lent: the cluster belongs to whoever owns the rest.
    assert (installation.data / "postgres").stat().st_uid == (installation.data / "log").stat().st_uid


def test_killed_without_warning_it_can_start_again_at_once_and_its_children_end_by_themselves(
    new_installation: Make,
) -> None:
    installation = new_installation()
    first, address = installation.launch()
    with connect(installation) as database:
        database.execute("CREATE TABLE kept (x int)")
    first.kill()
    first.wait()
    second, again = installation.launch(port=urlsplit(address).port or 0)
    assert again == address
    assert get(address, "/health/") == (200, b"ok")
    with connect(installation) as database:
        assert database.execute("SELECT count(*) FROM kept").fetchone() == (0,)
    second.kill()
    second.wait()
    assert wait_for(lambda: installation.processes() == []), installation.processes()


def test_when_the_database_dies_launch_names_it_and_stops(new_installation: Make) -> None:
    installation = new_installation()
    process, _ = installation.launch()
    pid = int((installation.data / "postgres" / "postmaster.pid").read_text().split("\n")[0])
    os.kill(pid, signal.SIGKILL)
    said, _ = process.communicate(timeout=30)
    assert process.returncode == 1
    assert "postgres has ended" in said and str(installation.data / "log" / "postgres.log") in said
    assert wait_for(lambda: installation.processes() == []), installation.processes()


def test_an_old_python_is_told_so_in_one_line() -> None:
    pretend = "import runpy, sys; sys.version_info = (3, 9, 1); runpy.run_path('manage.py', run_name='__main__')"
    project = Path(__file__).resolve().parents[2]
    told = subprocess.run(["python3", "-c", pretend], cwd=project, capture_output=True, text=True, check=False)
    assert told.returncode == 1
    assert told.stderr == "Teamroom needs Python 3.11 or newer, and this is 3.9: run it with a newer one.\n"
