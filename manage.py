#!/usr/bin/env python
"""The one command of this project: `python manage.py help` lists what it can do."""

import os
import sys


def main() -> int:
    """Run a command; unmet needs of the machine are said in one line each."""
    # Only syntax and modules that an old Python has may stand above this check.
    if sys.version_info < (3, 11):  # noqa: UP036 - the message is for who runs an older one than we ask for
        found = ".".join(str(part) for part in sys.version_info[:2])
        sys.stderr.write("Teamroom needs Python 3.11 or newer, and this is %s: run it with a newer one.\n" % found)  # noqa: UP031 - an old Python must be able to read this line
        return 1
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "teamroom.settings")
    try:
        from django.core.exceptions import ImproperlyConfigured
        from django.core.management import execute_from_command_line
    except ImportError:
        sys.stderr.write(
            "Django is not installed for this Python: run the first command of README.md, "
            "or use .venv/bin/python instead.\n"
        )
        return 1
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        if "--traceback" in sys.argv:
            raise
        sys.stderr.write(f"{error}\n")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
