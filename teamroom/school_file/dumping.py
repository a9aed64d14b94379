"""A year as the text of a school file: always the same text for the same year.

Only what differs from its default is written, in a fixed order of keys; rows come in the order in
which they were made.
"""

import json
from typing import Any

from scheduling.models import Activity, Rule, SharedResource
from teamroom.dates.calendar_maths import DEFAULT_ROTATION
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, Team
from teamroom.school_file import FORMAT, VERSION
from teamroom.school_file.canonical import canonical_body, given
from teamroom.school_file.dumping_weeks import bell_schedules, day_changes, weeks
from teamroom.school_file.form import Document
from teamroom.school_file.rows import default_kind_name


def dumped(year: SchoolYear) -> str:
    """The text of a year's school file."""
    return json.dumps(document_of(year), indent=2, ensure_ascii=False) + "\n"


def document_of(year: SchoolYear) -> Document:
    """A year as a document, in canonical form."""
    activities = list(Activity.objects.filter(year=year).order_by("pk"))
    kinds = dict(year.day_kinds.values_list("pk", "key"))
    resources = SharedResource.objects.filter(year=year).order_by("pk")
    keys = {activity.pk: activity.key for activity in activities}
    return given(
        format=FORMAT,
        version=VERSION,
        school=given(name=year.school.name, time_zone=year.school.time_zone, place=year.school.place),
        year=_year(year, kinds),
        activities=[
            given(key=activity.key, name=activity.name, frees_teacher=activity.frees_teacher or None)
            for activity in activities
        ],
        shared_resources=[
            given(key=key, name=name, capacity=capacity if capacity != 1 else None)
            for key, name, capacity in resources.values_list("key", "name", "capacity")
        ],
        bell_schedules=bell_schedules(year, keys, kinds),
        rules=[_rule(rule) for rule in Rule.objects.filter(year=year).order_by("pk")],
        teams=[_team(team) for team in Team.objects.filter(year=year).order_by("pk")],
        classrooms=[
            _classroom(room) for room in Classroom.objects.filter(year=year).order_by("pk").select_related("team")
        ],
        weeks=weeks(year, keys, kinds),
        day_changes=day_changes(year, keys),
    )


def _year(year: SchoolYear, kinds: dict[int, str]) -> Document:
    return given(
        name=year.name,
        first_day=year.first_day.isoformat(),
        last_day=year.last_day.isoformat(),
        cycle=_cycle(year),
        closed=[
            given(**{"from": span.first_day.isoformat(), "to": span.last_day.isoformat(), "name": span.name})
            for span in year.closures.order_by("pk")
        ],
        day_kinds=[
            given(key=kind.key, name="" if kind.name == default_kind_name(kind.key) else kind.name)
            for kind in year.day_kinds.order_by("pk")
            if not (kind.is_regular and kind.name == default_kind_name(kind.key))
        ],
        standing_kinds=[
            {"day": standing.weekday, "kind": kinds[standing.kind_id]}
            for standing in year.standing_kinds.order_by("pk")
        ],
        days=[{"date": day.date.isoformat(), "kind": kinds[day.kind_id]} for day in year.calendar_days.order_by("pk")],
        required_days=given(days=year.required_days, source=year.required_days_source) if year.required_days else None,
    )


def _cycle(year: SchoolYear) -> Document:
    if year.cycle_kind == "weekdays":
        return {}
    numbered = year.cycle_kind == "rotating days"
    starts = year.cycle_starts
    return given(
        kind=year.cycle_kind,
        length=year.cycle_length if numbered and year.cycle_length != DEFAULT_ROTATION else None,
        starts=starts.isoformat() if starts and starts != year.first_day else None,
    )


def _rule(rule: Rule) -> Document:
    dates: dict[str, Any] = {
        "from": rule.effective_from and rule.effective_from.isoformat(),
        "to": rule.effective_to and rule.effective_to.isoformat(),
    }
    head = given(
        key=rule.key,
        name=rule.name,
        grades=rule.grades,
        standing=rule.standing if rule.standing != "school" else None,
        citation=given(
            title=rule.citation_title,
            url=rule.citation_url,
            checked=rule.citation_checked and rule.citation_checked.isoformat(),
        ),
        effective=given(**dates),
        note=rule.note,
        not_checkable=rule.not_checkable,
    )
    return {**head, **canonical_body(rule.body)}


def _team(team: Team) -> Document:
    return given(
        key=team.key,
        name=team.name,
        grades=team.grades,
        edits_together=team.edits_together or None,
        retired=team.retired or None,
    )


def _classroom(room: Classroom) -> Document:
    found = given(key=room.key, name=room.name, team=room.team.key, grades=room.grades, room=room.room)
    if room.enrolment is not None:
        found["enrolment"] = room.enrolment
    if room.cap is not None:
        found["cap"] = room.cap
    if room.retired:
        found["retired"] = True
    return found
