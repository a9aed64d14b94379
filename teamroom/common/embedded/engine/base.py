"""Django's PostgreSQL engine, which takes a lease on the embedded server before it connects.

So any command works whether or not `launch` runs, and one that asks nothing of the database starts nothing.
"""

import atexit
from typing import Any

from django.db import connections
from django.db.backends.postgresql import base

from teamroom.common.embedded import lease


class DatabaseWrapper(base.DatabaseWrapper):
    """The usual engine; its HOST is known when the server runs."""

    def get_connection_params(self) -> dict[str, Any]:
        """The usual parameters, with the folder of the socket. Raises CannotServe."""
        embedded = self.settings_dict["EMBEDDED"]
        taken = lease.take(embedded["data"], "postgres", durable=embedded["durable"])
        self.settings_dict["HOST"] = str(taken.sockets)
        params: dict[str, Any] = super().get_connection_params()
        return params


@atexit.register
def close_connections() -> None:
    """Hang up before the lease is given back; a pool would otherwise complain about a server that is gone."""
    for connection in connections.all(initialized_only=True):
        connection.close()
        # To ask for a pool makes one, and to make one would start the server.
        if isinstance(connection, DatabaseWrapper) and lease.is_taken(connection.settings_dict["EMBEDDED"]["data"]):
            connection.close_pool()
