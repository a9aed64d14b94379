"""Asks the pages of this very machine whether they work; a container's health check."""

import os
import urllib.error
import urllib.request
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError


class Command(BaseCommand):
    """python manage.py ask_health"""

    help = "Asks /health/ on this machine, at the port in UVICORN_PORT. Fails unless the answer is ok."
    requires_system_checks = []

    def handle(self, *args: Any, **options: Any) -> None:
        """Ask under the first name that is allowed; the page itself asks the database."""
        address = f"http://127.0.0.1:{int(os.environ.get('UVICORN_PORT', '8000'))}/health/"
        name = settings.ALLOWED_HOSTS[0].lstrip(".")
        asked = urllib.request.Request(address, headers={"Host": "localhost" if name == "*" else name})  # noqa: S310 - always http, to this machine
        try:
            with urllib.request.urlopen(asked, timeout=8) as answer:  # noqa: S310 - as above
                self.stdout.write(answer.read().decode())
        except urllib.error.URLError as error:
            raise CommandError(f"{address} says: {error}") from error
