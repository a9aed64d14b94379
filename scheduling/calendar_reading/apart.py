"""Reading a calendar file in a process of its own, with limits to its time and memory.

A few bytes can ask a recurrence rule for endless work: the 30th of February, every day until it
comes. Nothing that looks at such a rule beforehand catches all of them, so the system's own limits do.
"""

import datetime as dt
import json
import os
import resource
import subprocess
import sys
from pathlib import Path

from scheduling.calendar_reading.ics import NotACalendar, ReadCalendar, read_calendar
from scheduling.calendar_reading.plain import calendar_from, plain_calendar

LARGEST_FILE = 2 * 1024 * 1024
PROCESSOR_SECONDS = 4
LONGEST_WAIT = 20
"""Seconds on the clock, as other work may hold the processor."""
MEMORY = 1024 * 1024 * 1024
ROOT = Path(__file__).resolve().parents[2]
# The reader needs none of the server's secrets, so it is given none.
KEPT = ("PATH", "PYTHONPATH", "PYTHONHOME", "PYTHONTZPATH", "LANG", "LC_ALL", "LD_LIBRARY_PATH", "VIRTUAL_ENV")


def read_apart(data: bytes, *, first_day: dt.date, last_day: dt.date, zone: str) -> ReadCalendar:
    """`read_calendar`, within limits. Raises NotACalendar, also where a file takes too long."""
    if len(data) > LARGEST_FILE:
        raise NotACalendar(
            f"The file is larger than {LARGEST_FILE // 1024**2} MiB: "
            "ask for a calendar of holidays and school days alone."
        )
    asked = json.dumps({"first": first_day.isoformat(), "last": last_day.isoformat(), "zone": zone}).encode()
    try:
        done = subprocess.run(  # noqa: S603 - our own module, and the file goes in as data
            [sys.executable, "-m", "scheduling.calendar_reading.apart"],
            input=asked + b"\n" + data,
            capture_output=True,
            timeout=LONGEST_WAIT,
            cwd=ROOT,
            env={name: os.environ[name] for name in KEPT if name in os.environ},
            check=False,
        )
    except subprocess.TimeoutExpired as fault:
        raise _too_much() from fault
    if done.returncode < 0:
        raise _too_much()
    try:
        told = json.loads(done.stdout)
        if "refused" in told:
            raise NotACalendar(str(told["refused"]))
        return calendar_from(told)
    except (ValueError, KeyError, TypeError) as fault:
        raise _too_much() from fault


def _too_much() -> NotACalendar:
    return NotACalendar(
        "The file takes too long to read: it has entries that repeat without end. "
        "Ask for a calendar of holidays and school days alone."
    )


def main() -> None:
    """Read what stands on the standard input, and write it as JSON."""
    resource.setrlimit(resource.RLIMIT_CPU, (PROCESSOR_SECONDS, PROCESSOR_SECONDS))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    asked = json.loads(sys.stdin.buffer.readline())
    try:
        read = read_calendar(
            sys.stdin.buffer.read(),
            first_day=dt.date.fromisoformat(asked["first"]),
            last_day=dt.date.fromisoformat(asked["last"]),
            zone=asked["zone"],
        )
    except NotACalendar as refused:
        json.dump({"refused": str(refused)}, sys.stdout)
    else:
        json.dump(plain_calendar(read), sys.stdout)


if __name__ == "__main__":
    main()
