"""The records of a year's trail out of the database, newest first, in a fixed number of queries.

Everything done in one transaction has one moment, to the microsecond. Pages go by moments, so that
the thousands of records of one school file are one entry and not a hundred pages.
"""

import datetime as dt
import json
import uuid
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

from django.db import connection

from teamroom.dates.models import SchoolYear
from teamroom.trail.kinds import KINDS, PLACE, Kind, Sort, records_of

Row = dict[str, Any]
CONSOLE = "console"
EARLIEST = dt.datetime(1900, 1, 1, tzinfo=dt.UTC)
LATEST = dt.datetime(9999, 1, 1, tzinfo=dt.UTC)


@dataclass(frozen=True)
class Asked:
    """Which records of a year. `by` is a member's id, or the console; times are from, and up to but without."""

    year: SchoolYear
    of_district: bool = False
    sort: Sort | None = None
    by: int | Literal["console"] | None = None
    first: dt.datetime = EARLIEST
    until: dt.datetime = LATEST

    @property
    def kinds(self) -> list[Kind]:
        return [
            kind
            for kind in KINDS
            if self.sort in (None, kind.sort) and (self.of_district or kind.belongs != "district")
        ]


class Moment(NamedTuple):
    """One transaction: when it began, and the request it was part of (None for a command)."""

    at: dt.datetime
    context: uuid.UUID | None


@dataclass(frozen=True)
class Record:
    """A row as it was written or as it was when it was removed, and for a change as it was before."""

    moment: Moment
    kind: str
    pk: int
    label: Literal["insert", "update", "delete"]
    row: Row
    before: Row | None
    about: Row
    """What the record's context says: "user" is a member's id, None for a request of nobody signed in."""

    @property
    def place(self) -> tuple[int, int]:
        return PLACE[self.kind], self.pk


class Count(NamedTuple):
    """How many records of a kind a moment has."""

    moment: Moment
    kind: str
    label: str
    number: int


def moments_before(asked: Asked, before: dt.datetime, most: int) -> list[dt.datetime]:
    """The latest moments before one, newest first."""
    parts, values = [], []
    for kind in asked.kinds:
        where, given = _where(kind, asked)
        parts.append(
            f"(SELECT DISTINCT e.pgh_created_at AS at FROM {kind.table} e "  # noqa: S608 - names of our own tables
            f"WHERE {where} AND e.pgh_created_at < %s ORDER BY at DESC LIMIT %s)"
        )
        values += [*given, before, most]
    sql = f"SELECT DISTINCT at FROM ({' UNION ALL '.join(parts)}) m ORDER BY at DESC LIMIT %s"  # noqa: S608 - as above
    return [at for (at,) in _fetched(sql, [*values, most])]


def counts_at(asked: Asked, moments: Sequence[dt.datetime]) -> list[Count]:
    """What each of some moments holds, by kind and label."""
    parts, values = [], []
    for kind in asked.kinds:
        where, given = _where(kind, asked)
        parts.append(
            f"SELECT e.pgh_created_at, e.pgh_context_id, '{kind.key}', e.pgh_label, count(*) "  # noqa: S608 - as above
            f"FROM {kind.table} e WHERE {where} AND e.pgh_created_at = ANY(%s) GROUP BY 1, 2, 4"
        )
        values += [*given, list(moments)]
    found = _fetched(" UNION ALL ".join(parts), values)
    return [Count(Moment(at, context), kind, label, number) for at, context, kind, label, number in found]


def first_records_at(asked: Asked, moments: Sequence[dt.datetime], most: int) -> list[Record]:
    """Of each moment and kind the first few records, in the order of the kinds."""
    parts, values = [], []
    for kind in asked.kinds:
        where, given = _where(kind, asked)
        parts.append(
            f"SELECT s.at, {PLACE[kind.key]}, s.pgh_id FROM (SELECT e.pgh_created_at AS at, e.pgh_id, row_number() "  # noqa: S608 - as above
            f"OVER (PARTITION BY e.pgh_created_at, e.pgh_context_id ORDER BY e.pgh_id) AS n FROM {kind.table} e "
            f"WHERE {where} AND e.pgh_created_at = ANY(%s)) s WHERE s.n <= %s"
        )
        values += [*given, list(moments), most]
    return _whole(_fetched(" UNION ALL ".join(parts), values))


def records_at(asked: Asked, moment: Moment, after: tuple[int, int], most: int) -> list[Record]:
    """Of one moment the next records after a place, in the order of the kinds."""
    parts, values = [], []
    for kind in asked.kinds:
        where, given = _where(kind, asked)
        if PLACE[kind.key] >= after[0]:
            where += " AND e.pgh_created_at = %s AND e.pgh_context_id IS NOT DISTINCT FROM %s AND e.pgh_id > %s"
            begin = after[1] if PLACE[kind.key] == after[0] else -1
            parts.append(_next_keys(kind, where))
            values += [*given, moment.at, moment.context, begin, most]
    return _next(parts, values, most)


def records_after(asked: Asked, after: Record | None, most: int) -> list[Record]:
    """The next records after one, newest moment first: for a whole trail in steps of any size."""
    at, place = (after.moment.at, after.place) if after else (LATEST, (-1, -1))
    parts, values = [], []
    for kind in asked.kinds:
        where, given = _where(kind, asked)
        values += given
        if PLACE[kind.key] == place[0]:
            where += " AND e.pgh_created_at <= %s AND (e.pgh_created_at < %s OR e.pgh_id > %s)"
            values += [at, at, place[1]]
        else:
            where += f" AND e.pgh_created_at {'<=' if PLACE[kind.key] > place[0] else '<'} %s"
            values.append(at)
        parts.append(_next_keys(kind, where))
        values.append(most)
    return _next(parts, values, most)


def _next_keys(kind: Kind, where: str) -> str:
    return (
        f"(SELECT e.pgh_created_at AS at, {PLACE[kind.key]} AS place, e.pgh_id FROM {kind.table} e "  # noqa: S608 - as above
        f"WHERE {where} ORDER BY e.pgh_created_at DESC, e.pgh_id LIMIT %s)"
    )


def _next(parts: Sequence[str], values: Sequence[object], most: int) -> list[Record]:
    if not parts:
        return []
    sql = f"SELECT at, place, pgh_id FROM ({' UNION ALL '.join(parts)}) k "  # noqa: S608 - as above
    return _whole(_fetched(sql + "ORDER BY at DESC, place, pgh_id LIMIT %s", [*values, most]))


def _whole(keys: Iterable[tuple[dt.datetime, int, int]]) -> list[Record]:
    """The records of these keys, newest moment first, then in the order of the kinds."""
    ids: dict[int, list[int]] = defaultdict(list)
    for _, place, pk in keys:
        ids[place].append(pk)
    if not ids:
        return []
    sql = " UNION ALL ".join(_record(KINDS[place]) for place in ids)
    records = [
        Record(Moment(at, context), kind, pk, label, _loaded(row), _loaded(before) or None, _loaded(about))
        for at, context, kind, pk, label, row, before, about in _fetched(sql, list(ids.values()))
    ]
    records.sort(key=lambda record: record.place)
    return sorted(records, key=lambda record: record.moment.at, reverse=True)


def _record(kind: Kind) -> str:
    """Records by id, each with the same row's record before it if it is a change; the rows whole, as JSON."""
    return (
        f"SELECT e.pgh_created_at, e.pgh_context_id, '{kind.key}', e.pgh_id, e.pgh_label, to_jsonb(e), b.row, "  # noqa: S608 - as above
        f"e.pgh_context FROM {kind.table} e LEFT JOIN LATERAL (SELECT to_jsonb(o) AS row FROM {kind.table} o "
        "WHERE e.pgh_label = 'update' AND o.pgh_obj_id = e.pgh_obj_id AND o.pgh_id < e.pgh_id "
        "ORDER BY o.pgh_id DESC LIMIT 1) b ON TRUE WHERE e.pgh_id = ANY(%s)"
    )


def _loaded(value: Any) -> Row:
    # Django's own connections give JSON as text, as its fields read it themselves.
    found: Row = json.loads(value) if isinstance(value, str) else value or {}
    return found


def _where(kind: Kind, asked: Asked) -> tuple[str, list[object]]:
    """The condition on a kind's records, and its values."""
    values: list[object] = []
    if kind.parent is not None:
        live, kept = kind.parent._meta.db_table, records_of(kind.parent)._meta.db_table
        # Of parents that are gone only their records are left.
        where = (
            f"e.{kind.column} IN (SELECT id FROM {live} WHERE year_id = %s "  # noqa: S608 - as above
            f"UNION SELECT id FROM {kept} WHERE year_id = %s)"
        )
        values += [asked.year.pk, asked.year.pk]
    elif kind.belongs == "district":
        where = "TRUE"
    else:
        where = f"e.{kind.column} = %s"
        values.append(asked.year.school_id if kind.belongs in ("school", "the school") else asked.year.pk)
    if asked.by == CONSOLE:
        where += " AND NOT COALESCE(jsonb_exists(e.pgh_context, 'user'), FALSE)"
    elif asked.by is not None:
        where += " AND e.pgh_context->>'user' = %s"
        values.append(str(asked.by))
    if asked.first > EARLIEST:
        where += " AND e.pgh_created_at >= %s"
        values.append(asked.first)
    if asked.until < LATEST:
        where += " AND e.pgh_created_at < %s"
        values.append(asked.until)
    return where, values


def _fetched(sql: str, values: Sequence[Any]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        found: list[tuple[Any, ...]] = cursor.fetchall()
        return found
