"""What the commands that read or write a school share: the tables they need are there."""

from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError, call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor


class SchoolCommand(BaseCommand):
    """A command that finds the database's tables up to date.

    The embedded database belongs to nobody else, so its tables are made or brought up to date
    here; a server's are its keeper's, and the command says how instead.
    """

    def execute(self, *args: Any, **options: Any) -> str | None:
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            if settings.ON_SERVERS:
                raise CommandError("The database is behind this version: run python manage.py migrate first.")
            call_command("migrate", verbosity=0, interactive=False)
        return super().execute(*args, **options)
