"""The whole app on one machine: database, broker, pages and background work, until Ctrl-C."""

import contextlib
import http.client
import json
import os
import signal
import socket
import sys
import time
import webbrowser
from argparse import ArgumentParser
from pathlib import Path
from types import FrameType
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, call_command
from django.db import OperationalError

from teamroom.common.children import Children
from teamroom.common.embedded import lease
from teamroom.common.embedded.engine.base import close_connections
from teamroom.common.embedded.errors import CannotServe
from teamroom.common.embedded.locks import FileLock
from teamroom.common.embedded.places import broker_url
from teamroom.first_steps import gather_static_files, ready_demo, sign_in_lines

LOOPBACK = ("127.0.0.1", "localhost", "::1")
EVERY_ADDRESS = ("0.0.0.0", "::")  # noqa: S104 - compared with, not bound to
START_PATIENCE = 60.0


class AskedToStop(Exception):
    """Ctrl-C, SIGTERM, or the terminal was closed."""


class Command(BaseCommand):
    """python manage.py launch [--demo] [--port N] [--host ADDRESS]"""

    help = "Runs the whole app on this machine until Ctrl-C. Data lies in the folder TEAMROOM_DATA, or in var/."
    # The checks that need a database would start it before we have said so.
    requires_system_checks = []
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--demo", action="store_true", help="load an invented school, once, if there is none")
        parser.add_argument("--port", type=int, default=8000, help="8000 unless told; 0 takes any free one")
        parser.add_argument("--host", default="127.0.0.1", help="this machine alone unless told")

    def handle(self, *args: Any, demo: bool, port: int, host: str, **options: Any) -> None:
        """Start everything in order, wait, and stop everything in whatever way it ends."""
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, ask_to_stop)
        data: Path = settings.DATA_DIR
        try:
            lease.make_folders(data)
            only_one = hold_launch_lock(data)
            children = Children(data)
            try:
                self.run(data, children, only_one, demo=demo, port=port, host=host)
            finally:
                # From here on nothing may hinder the stopping, not even a second Ctrl-C; it ends by itself.
                for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
                    signal.signal(number, signal.SIG_IGN)
                children.stop()
                close_connections()
                lease.give_back_all()
        except AskedToStop:
            self.say("Stopped.")

    def run(self, data: Path, children: Children, only_one: FileLock, *, demo: bool, port: int, host: str) -> None:
        """All that happens between the locks and the stop. Returns only by raising."""
        # First, because they may still hold the port.
        children.clear_leftovers()
        listening = listen(host, port)
        address = f"http://{'localhost' if host in LOOPBACK + EVERY_ADDRESS else host}:{listening.getsockname()[1]}/"
        only_one.path.write_text(json.dumps({"pid": os.getpid(), "address": address}), encoding="utf-8")
        taken = self.start_servers(data)
        self.say("Bringing the tables up to date ...")
        try:
            call_command("migrate", verbosity=0, interactive=False)
        except OperationalError as error:
            raise CannotServe(f"The database does not answer: {str(error).splitlines()[0]}") from error
        if demo:
            self.say("Looking after the demo school ...")
            ready_demo()
        if Path(settings.STATIC_ROOT) == data / "static":
            self.say("Gathering the static files ...")
            gather_static_files()
        self.say("Starting the pages and the background work ...")
        start_children(children, listening, data, host)
        listening.close()
        wait_until_healthy(address, children)
        self.greet(address, data, host)
        watch(children, taken)

    def start_servers(self, data: Path) -> list[lease.Lease]:
        """The embedded servers that the environment does not replace by others."""
        taken = []
        if "EMBEDDED" in settings.DATABASES["default"]:
            self.say(f"Starting the database in {data} ...")
            taken.append(lease.take(data, "postgres"))
            if (data / "postgres").is_symlink():
                # Root's folders are closed to the system user who runs the database.
                self.say(f"The database itself lies in {(data / 'postgres').readlink()}")
        if broker_url(data) == settings.REDIS_URL:
            self.say("Starting the broker ...")
            taken.append(lease.take(data, "valkey"))
        return taken

    def greet(self, address: str, data: Path, host: str) -> None:
        """Say where it is and how to get in."""
        for line in ["", f"Teamroom is at {address}", *sign_in_lines(data, address), "Ctrl-C stops it.", ""]:
            self.say(line)
        if host not in LOOPBACK:
            self.say(
                "Caution: others on the network reach this address, and passwords cross it unencrypted. "
                "For a school, run it on servers behind HTTPS (README.md)."
            )
        on_a_desk = sys.platform == "darwin" or os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
        if sys.stdout.isatty() and on_a_desk:
            webbrowser.open(address)

    def say(self, line: str) -> None:
        """Print at once; a terminal that is gone must not hinder the stopping."""
        try:
            self.stdout.write(line)
            self.stdout.flush()
        except OSError:
            pass


def ask_to_stop(number: int, frame: FrameType | None) -> None:
    """What each signal that means "stop" does."""
    raise AskedToStop


def hold_launch_lock(data: Path) -> FileLock:
    """The right to be the only launch on this data, until the process ends. Raises CannotServe."""
    lock = FileLock(data / "lock" / "launch")
    if not lock.take(wait=False):
        try:
            other = json.loads(lock.path.read_text(encoding="utf-8"))
        except ValueError:
            raise CannotServe(f"Teamroom is just being started on the data in {data}: wait a moment.") from None
        raise CannotServe(
            f"Teamroom already runs on the data in {data}, at {other['address']}: stop it with Ctrl-C where it was "
            f"started or with `kill {other['pid']}`, or set TEAMROOM_DATA to another folder."
        )
    lock.path.write_text("", encoding="utf-8")
    return lock


def listen(host: str, port: int) -> socket.socket:
    """A socket that listens, so that the port is ours before anything is started. Raises CannotServe."""
    try:
        family = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0][0]
        listening = socket.socket(family, socket.SOCK_STREAM)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        # What it accepts inherits this. The web process, given a file's number alone, does not set it, and the second
        # part of each answer would wait some 40 ms for the first to be acknowledged.
        listening.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        listening.bind((host, port))
        listening.listen(128)
    except (OSError, OverflowError) as error:
        raise CannotServe(
            f"Port {port} of {host} cannot be had ({getattr(error, 'strerror', error)}): "
            f"choose another, like --port {8001 if port != 8001 else 8002}."
        ) from error
    return listening


def start_children(children: Children, listening: socket.socket, data: Path, host: str) -> None:
    """One process for the pages, one for the background work, one for its clock."""
    environment = {"TEAMROOM_DATA": str(data), "DJANGO_SETTINGS_MODULE": os.environ["DJANGO_SETTINGS_MODULE"]}
    if host not in LOOPBACK and not os.environ.get("ALLOWED_HOSTS"):
        names = f"localhost 127.0.0.1 {host} {socket.gethostname()} {socket.getfqdn()}"
        # Colleagues without local name service type this machine's number.
        environment["ALLOWED_HOSTS"] = " ".join([names, *own_addresses()])
    web = ["teamroom.asgi:application", "--fd", str(listening.fileno()), "--no-proxy-headers", "--no-access-log"]
    # Streams never end by themselves.
    web += ["--timeout-graceful-shutdown", "3"]
    children.start("web", "uvicorn", *web, environment=environment, files=(listening.fileno(),))
    app, level = ["-A", "teamroom.celery"], ["--loglevel", "info"]
    children.start("worker", "celery", *app, "worker", "--concurrency", "2", *level, environment=environment)
    # A process of its own: a clock inside the worker outlives a worker that is killed.
    clock = ["--schedule", str(data / "lock" / "beat"), "--pidfile", ""]
    children.start("beat", "celery", *app, "beat", *clock, *level, environment=environment)


def own_addresses() -> list[str]:
    """This machine's numbers: those its name has, and the one it would speak to a network from."""
    found = set()
    with contextlib.suppress(OSError):
        found = {str(entry[4][0]) for entry in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        # Nothing is sent: connecting only chooses the way out (an address kept for documentation, RFC 5737).
        asked.connect(("192.0.2.1", 9))
        found.add(asked.getsockname()[0])
    return sorted(found)


def wait_until_healthy(address: str, children: Children) -> None:
    """Ask the health page until it answers. Raises CannotServe when a child ends or the patience does."""
    host, port = address.removeprefix("http://").rstrip("/").rsplit(":", 1)
    give_up = time.monotonic() + START_PATIENCE
    while time.monotonic() < give_up:
        stop_if_one_ended(children, [])
        asking = http.client.HTTPConnection(host, int(port), timeout=5)
        try:
            asking.request("GET", "/health/")
            if asking.getresponse().status == 200:
                return
        except OSError:
            pass
        finally:
            asking.close()
        time.sleep(0.1)
    raise CannotServe(f"The pages do not answer; their own words are in {children.log('web')}")


def watch(children: Children, taken: list[lease.Lease]) -> None:
    """Look every half second whether all are alive. Raises CannotServe when one is not."""
    while True:
        stop_if_one_ended(children, taken)
        time.sleep(0.5)


def stop_if_one_ended(children: Children, taken: list[lease.Lease]) -> None:
    """Raise CannotServe, naming who ended and where its log is."""
    ended = children.ended() or next((each.name for each in taken if not each.server_runs()), None)
    if ended is not None:
        raise CannotServe(f"{ended} has ended, so everything was stopped; its own words are in {children.log(ended)}")
