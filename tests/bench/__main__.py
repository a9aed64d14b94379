"""`python -m tests.bench [engine] [year] [edit] [live] [calendar] [refit] [--json]`: measure, side by side in one run.

Every figure is printed beside the one it is compared with, and their ratio. It starts a database
of its own in a temporary folder and removes it at the end.
"""

import argparse
import json
import os
import shutil
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

os.environ["TEAMROOM_DATA"] = tempfile.mkdtemp(prefix="teamroom-bench-")
os.environ.setdefault("SECRET_KEY", "only for measuring")
os.environ["DJANGO_SETTINGS_MODULE"] = "tests.bench.settings"

import django  # noqa: E402 - the environment decides the settings

django.setup()

from django.core.management import call_command  # noqa: E402 - needs the settings

from teamroom.common.embedded import lease  # noqa: E402 - as above
from teamroom.common.embedded.engine.base import close_connections  # noqa: E402 - as above
from tests.bench.measures import Line  # noqa: E402 - as above


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument(
        "which", nargs="*", choices=["engine", "year", "edit", "live", "calendar", "refit", []], default=[]
    )
    parser.add_argument("--json", action="store_true", help="print the figures as JSON")
    options = parser.parse_args()
    from tests.bench import calendar, edit, engine, live, refit, year

    benches: dict[str, Callable[[], list[Line]]] = {
        "engine": engine.run,
        "year": year.run,
        "edit": edit.run,
        "live": live.run,
        "calendar": calendar.run,
        "refit": refit.run,
    }
    call_command("migrate", verbosity=0)
    lines = [line for name in options.which or benches for line in benches[name]()]
    if options.json:
        sys.stdout.write(json.dumps([line._asdict() for line in lines], indent=2) + "\n")
    else:
        for line in lines:
            against = f"{line.ratio:8.2f} x {line.against}" if line.ratio is not None else ""
            sys.stdout.write(f"{line.bench:7} {line.what:70} {line.milliseconds:10.3f} ms {against}\n")
    return 0


def clear_up() -> None:
    close_connections()
    lease.give_back_all()
    data = Path(os.environ["TEAMROOM_DATA"])
    if (data / "lock").exists():
        lease.wait_until_stopped(data, "postgres")
    shutil.rmtree(data, ignore_errors=True)


if __name__ == "__main__":
    try:
        status = main()
    finally:
        clear_up()
    sys.exit(status)
