"""Telling other processes that a thing has changed, inside the transaction that changes it."""

from django.db import connection

CHANNEL = "teamroom"


def announce(topic: str, revision: int) -> None:
    """Say that a topic is now at a revision. Heard only if, and when, the transaction commits."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_notify(%s, %s)", [CHANNEL, f"{topic} {revision}"])
