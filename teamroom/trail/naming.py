"""What the ids in records are called now, or were called last where the thing is gone. One query."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from django.db import connection
from django.db.models import Model

from scheduling.models import Activity, BellSchedule
from teamroom.dates.models import DayKind
from teamroom.members.models import Classroom, Member, Team
from teamroom.trail.kinds import records_of
from teamroom.trail.reading import Record, Row

# Columns of records that hold the id of something with a name.
POINTS_TO = {
    "member_id": "member",
    "invited_by_id": "member",
    "accepted_by_id": "member",
    "team_id": "team",
    "classroom_id": "classroom",
    "activity_id": "activity",
    "kind_id": "day kind",
    "bell_schedule_id": "bell schedule",
}
GONE = {
    "member": "somebody who is gone",
    "team": "a team that is gone",
    "classroom": "a classroom that is gone",
    "activity": "an activity that is gone",
    "day kind": "a kind of day that is gone",
    "bell schedule": "a bell schedule that is gone",
}
NAMED: Mapping[str, tuple[type[Model], str]] = {
    "team": (Team, "t.name"),
    "classroom": (Classroom, "COALESCE(NULLIF(t.name, ''), t.key)"),
    "activity": (Activity, "t.name"),
    "day kind": (DayKind, "t.name"),
}


@dataclass(frozen=True)
class Names:
    """Names by what sort of thing and id."""

    found: Mapping[tuple[str, int], str] = field(default_factory=dict)

    def of(self, thing: str, pk: int | None) -> str:
        """The name; '' for no id."""
        return "" if pk is None else self.found.get((thing, pk), GONE[thing])

    def at(self, column: str, row: Row) -> str:
        """What a record's column points to."""
        return self.of(POINTS_TO[column], row.get(column))


def names_for(records: Iterable[Record]) -> Names:
    """The names of everything that some records point to, and of who wrote them."""
    wanted: dict[str, set[int]] = defaultdict(set)
    for record in records:
        for row in (record.row, record.before or {}):
            for column, thing in POINTS_TO.items():
                if isinstance(pk := row.get(column), int):
                    wanted[thing].add(pk)
        if isinstance(user := record.about.get("user"), int):
            wanted["member"].add(user)
    parts, values = [], []
    for thing, ids in wanted.items():
        parts.append(_asked(thing))
        values += [sorted(ids)] * parts[-1].count("%s")
    if not parts:
        return Names()
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(parts), values)
        rows = cursor.fetchall()
    # What is there now comes after what its records say.
    return Names({(thing, pk): name for thing, pk, name, _ in sorted(rows, key=lambda row: row[3])})


def _asked(thing: str) -> str:
    if thing == "member":
        return f"SELECT 'member', id, name, TRUE FROM {Member._meta.db_table} WHERE id = ANY(%s)"  # noqa: S608 - our own tables
    if thing == "bell schedule":
        return _both(thing, BellSchedule, f"'grade ' || t.grade || ', ' || {_day_kind_of_bell()}")
    return _both(thing, *NAMED[thing])


def _both(thing: str, model: type[Model], name: str) -> str:
    """Its name as it is, and as its latest record has it."""
    return (
        f"SELECT '{thing}', t.id::bigint, ({name})::text, TRUE FROM {model._meta.db_table} t WHERE t.id = ANY(%s) "  # noqa: S608 - our own tables
        f"UNION ALL (SELECT DISTINCT ON (t.pgh_obj_id) '{thing}', t.id::bigint, ({name})::text, FALSE "
        f"FROM {records_of(model)._meta.db_table} t WHERE t.pgh_obj_id = ANY(%s) ORDER BY t.pgh_obj_id, t.pgh_id DESC)"
    )


def _day_kind_of_bell() -> str:
    live, kept = DayKind._meta.db_table, records_of(DayKind)._meta.db_table
    return (
        f"COALESCE((SELECT k.name FROM {live} k WHERE k.id = t.kind_id), "  # noqa: S608 - our own tables
        f"(SELECT k.name FROM {kept} k WHERE k.pgh_obj_id = t.kind_id ORDER BY k.pgh_id DESC LIMIT 1), '')"
    )
