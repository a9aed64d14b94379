"""What an installation needs besides its tables before somebody can use it."""

import hashlib
import os
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command

from teamroom.dates.models import School
from teamroom.demo.load import SIGN_IN_FILE, load_demo
from teamroom.members.models import Member
from teamroom.members.services.first_administrator import make_first_link


def gather_static_files() -> None:
    """Collect, hash and compress the static files, unless that was done for these very files."""
    found = sorted(
        (name, storage.path(name)) for finder in get_finders() for name, storage in finder.list(ignore_patterns=None)
    )
    facts = [(name, path, os.stat(path).st_mtime_ns, os.stat(path).st_size) for name, path in found]
    state = hashlib.sha256(repr(facts).encode()).hexdigest()
    stamp = Path(settings.STATIC_ROOT) / "gathered"
    if stamp.exists() and stamp.read_text(encoding="ascii") == state:
        return
    call_command("collectstatic", verbosity=0, interactive=False, clear=True)
    stamp.write_text(state, encoding="ascii")


def ready_demo() -> None:
    """Load the demo school unless there is a school."""
    if not School.objects.exists():
        load_demo()


def sign_in_lines(data: Path, address: str) -> list[str]:
    """What to tell somebody who wants to get in. While nobody can, a fresh link for the first administrator."""
    path = data / SIGN_IN_FILE
    if path.exists() and Member.objects.exists():
        return [*path.read_text(encoding="utf-8").splitlines(), f"(kept in {path})"]
    token = make_first_link()
    if token is None:
        return ["Sign in with your e-mail address."]
    return [
        "Nobody is here yet. Whoever opens this link becomes the first administrator; it works once:",
        f"    {address}first/{token}/",
    ]
