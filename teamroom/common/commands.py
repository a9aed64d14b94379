"""What the commands that read or write a school share: the tables they need are there."""

from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError, call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor


def ready_tables() -> None:
    """Make sure of the database's tables before they are used.

    The embedded database belongs to nobody else, so its tables are made or brought up to date
    here; a server's are its keeper's, and CommandError says how instead.
    """
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        if settings.ON_SERVERS:
            raise CommandError("The database is behind this version: run python manage.py migrate first.")
        call_command("migrate", verbosity=0, interactive=False)


class SchoolCommand(BaseCommand):
    """A command that works on the database from its first step."""

    def execute(self, *args: Any, **options: Any) -> str | None:
        ready_tables()
        return super().execute(*args, **options)
