"""`python -m tests.together.editor DATABASE MEMBER SEED TIMES WEEK...`: an editor in a process of its own.

Prints a line of JSON for each thing it did, after it is committed: whatever it said, the others may rely on.
"""

import json
import os
import sys

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

from django.db import OperationalError, connection  # noqa: E402 - the settings come first

from teamroom.members.models import Member  # noqa: E402 - as above
from tests.together.deeds import Editor  # noqa: E402 - as above

NAME = "an editor of the tests"
"""By which the database knows these connections, so that they can be cut."""


def use_database(name: str) -> None:
    connection.settings_dict["NAME"] = name
    connection.settings_dict["OPTIONS"]["application_name"] = NAME


def main() -> None:
    use_database(sys.argv[1])
    member, seed, times, *weeks = map(int, sys.argv[2:])
    editor = None
    done = 0
    while done < times:
        try:
            editor = editor or Editor(Member.objects.get(pk=member), weeks, seed)
            outcome = editor.act()
        except OperationalError:
            # The connection was cut. Whether the edit was kept is the database's to know; a page would look again.
            connection.close()
            print(json.dumps({"came": "cut"}), flush=True)
            continue
        done += 1
        told = {"verb": outcome.verb, "came": outcome.came, "changes": outcome.changes}
        print(json.dumps(told), flush=True)


if __name__ == "__main__":
    main()
