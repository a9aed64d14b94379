"""The columns of records that people read, and their values in words."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from scheduling.minutes.figures import listed
from teamroom.common.clock import said_clock, said_span
from teamroom.common.wording import full_date
from teamroom.trail.naming import POINTS_TO, Names
from teamroom.trail.reading import Row
from teamroom.trail.rule_wording import demand_said

NOTHING = "\N{EN DASH}"
DATED = {"first_day": "first day", "last_day": "last day"}
COLUMNS: dict[str, dict[str, str]] = {
    "school": {"name": "name", "time_zone": "time zone", "place": "state"},
    "year": {
        "name": "name",
        **DATED,
        "required_days": "school days required",
        "required_days_source": "source of that number",
        "cycle_kind": "cycle",
        "cycle_length": "days in rotation",
        "cycle_starts": "cycle starts",
        "being_set_up": "being set up",
    },
    "day kind": {"name": "name", "key": "key"},
    "standing kind": {"weekday": "day", "kind_id": "kind of day"},
    "closure": {**DATED, "name": "name"},
    "calendar day": {"date": "date", "kind_id": "kind of day"},
    "day change": {"date": "date", "name": "name", "closed": "closes the day", "start": "from", "end": "to"},
    "activity": {"name": "name", "frees_teacher": "frees the class’s teacher", "key": "key"},
    "shared resource": {"name": "name", "capacity": "classes at once", "key": "key"},
    "bell schedule": {"grade": "grade", "kind_id": "kind of day", "start": "start", "dismissal": "dismissal"},
    "fixed stretch": {"activity_id": "activity", "start": "start", "end": "end", "days": "days"},
    "rule": {
        "name": "name",
        "body": "demand",
        "not_checkable": "why no week can prove it",
        "grades": "grades",
        "standing": "standing",
        "effective_from": "in force from",
        "effective_to": "in force until",
        "citation_title": "source",
        "citation_url": "address of the source",
        "citation_checked": "source read on",
        "note": "note",
        "key": "key",
    },
    "team": {
        "name": "name",
        "grades": "grades",
        "edits_together": "edits together",
        "retired": "retired",
        "key": "key",
    },
    "classroom": {
        "name": "name",
        "team_id": "team",
        "grades": "grades",
        "room": "room",
        "enrolment": "pupils",
        "cap": "cap",
        "retired": "retired",
        "key": "key",
    },
    "class teacher": {"member_id": "teacher", "classroom_id": "classroom", **DATED},
    "team role": {"member_id": "who", "team_id": "team", "role": "part"},
    "school role": {"member_id": "who", "role": "part"},
    "district role": {"member_id": "who"},
    "specialist": {"member_id": "who", "activity_id": "activity"},
    "invitation": {
        "email": "address",
        "name": "name",
        "school_role": "part in the school",
        "team_id": "team",
        "team_role": "part in the team",
        "classroom_id": "classroom",
        "expires_at": "expires",
        "accepted_at": "accepted",
        "revoked_at": "withdrawn",
        "accepted_by_id": "accepted by",
        "invited_by_id": "invited by",
    },
}
DATES = {"first_day", "last_day", "date", "cycle_starts", "effective_from", "effective_to", "citation_checked"}
CLOCKS = {"start", "end", "dismissal"}
MOMENTS = {"expires_at", "accepted_at", "revoked_at"}


@dataclass(frozen=True)
class Words:
    """What sentences are made with: names of ids, and of the year's activities and day kinds by key."""

    names: Names
    activities: Mapping[str, str]
    kinds: Mapping[str, str]

    def demand(self, row: Row) -> str:
        return demand_said(row, self.activities, self.kinds)


def value_said(column: str, row: Row, words: Words) -> str:
    """A column's value in words."""
    value: Any = row.get(column)
    if column == "body":
        return words.demand(row) or NOTHING
    if value is None or value in ("", []):
        return NOTHING
    if column in POINTS_TO:
        return words.names.at(column, row)
    if column in DATES:
        return date_said(value)
    if column in CLOCKS:
        return said_clock(value)
    if column in MOMENTS:
        return date_said(value[:10])
    if isinstance(value, bool):
        return "yes" if value else "no"
    return listed([str(each) for each in value]) if isinstance(value, list) else str(value)


def date_said(written: str) -> str:
    """An ISO date as people say it, with its year."""
    return full_date(dt.date.fromisoformat(written))


def span_said(row: Row) -> str:
    return said_span(row["start"], row["end"])


def quote(name: str) -> str:
    return f"\N{LEFT SINGLE QUOTATION MARK}{name}\N{RIGHT SINGLE QUOTATION MARK}"
