"""Telling every process that something has changed, inside the transaction that changes it."""

from django.db import connection

CHANNEL = "teamroom"

# Sorted, so that two deeds that announce the same topics lock their rows in one order.
RAISED = """
    WITH raised AS (
        INSERT INTO live_topic (name, edition) SELECT name, 1 FROM unnest(%s::text[]) AS name ORDER BY name
        ON CONFLICT (name) DO UPDATE SET edition = live_topic.edition + 1
        RETURNING name, edition
    )
    SELECT pg_notify(%s, name || ' ' || edition) FROM raised
"""


def announce(*topics: str) -> None:
    """Raise each topic's edition and say so. It is kept and heard only if, and when, the transaction commits.

    A deed announces all its topics in one call, the last thing it does: until it commits, others
    who announce one of them wait.
    """
    if not topics:
        return
    with connection.cursor() as cursor:
        cursor.execute(RAISED, [sorted(set(topics)), CHANNEL])


def classroom_topic(classroom: int) -> str:
    """The weeks of a classroom, drafts included, with their readings and questions."""
    return f"classroom-{classroom}"


PERSON = "person"


def person_topic(member: int | str) -> str:
    """What somebody may do, or whether they are signed in. No page follows it: their open streams ask anew."""
    return f"{PERSON}-{member}"


def year_topic(year: int) -> str:
    """What all classrooms of a year share: calendar, bells, rules, activities, shared resources."""
    return f"year-{year}"
