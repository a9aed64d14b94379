"""Carries the embedded database over from an older PostgreSQL."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand

from teamroom.common.embedded.upgrade import carry_over


class Command(BaseCommand):
    """python manage.py carry_over FOLDER"""

    help = "Carries the embedded database over from an older PostgreSQL, whose programs are in FOLDER."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", type=Path, help="where the older postgres and pg_ctl programs are")

    def handle(self, *args: Any, folder: Path, **options: Any) -> None:
        """Do it and say where the old data are."""
        kept = carry_over(settings.DATA_DIR, folder)
        self.stdout.write(f"Carried over. The old data are kept in {kept}; remove them when you are content.")
