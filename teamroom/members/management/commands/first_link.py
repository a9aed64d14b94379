"""Prints a fresh link for the first administrator of an installation that has nobody yet."""

from argparse import ArgumentParser
from typing import Any

from django.core.management import CommandError

from teamroom.common.commands import SchoolCommand
from teamroom.members.services.first_administrator import make_first_link


class Command(SchoolCommand):
    """python manage.py first_link [--site https://teamroom.example]"""

    help = "Prints a link that makes whoever opens it the first administrator. It works once, and only while there is \
nobody yet."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--site", default="http://localhost:8000", help="where this installation is reached")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the link; CommandError once there is somebody."""
        token = make_first_link()
        if token is None:
            raise CommandError(
                "There is somebody already, who can invite others. If nobody can get in any more, set a passphrase "
                "with: python manage.py changepassword ADDRESS"
            )
        self.stdout.write(f"{options['site'].rstrip('/')}/first/{token}/")
        self.stdout.write("Open it to become the first administrator. A newer link makes this one worthless.")
