"""A sound document's calendar, people's places, activities, bells and rules as rows.

Each function inserts one section in the order of the file. What refers to a key finds its row in
`Rows`, which the functions fill as they go.
"""

from dataclasses import dataclass, field

from scheduling.minutes.definitions import body_of
from scheduling.models import Activity, BellSchedule, FixedStretch, Rule, SharedResource
from teamroom.common.clock import minutes_of
from teamroom.dates.calendar_maths import REGULAR
from teamroom.dates.models import CalendarDay, Closure, DayKind, SchoolYear, StandingKind
from teamroom.members.models import Classroom, Team
from teamroom.school_file.form import Document
from teamroom.school_file.meaning.ground import date_in, date_of

REGULAR_NAME = "Regular day"


@dataclass
class Rows:
    """The rows of a year so far, by the file's keys."""

    year: SchoolYear
    kinds: dict[str, DayKind] = field(default_factory=dict)
    activities: dict[str, Activity] = field(default_factory=dict)
    resources: dict[str, SharedResource] = field(default_factory=dict)
    teams: dict[str, Team] = field(default_factory=dict)
    classrooms: dict[str, Classroom] = field(default_factory=dict)


def default_kind_name(key: str) -> str:
    return REGULAR_NAME if key == REGULAR else key


def insert_calendar(rows: Rows, written: Document) -> None:
    """Day kinds (the regular one always), closures, standing kinds and named days."""
    year = rows.year
    named = {kind["key"]: kind.get("name") or default_kind_name(kind["key"]) for kind in written.get("day_kinds", ())}
    if REGULAR not in named:
        named = {REGULAR: REGULAR_NAME, **named}
    kinds = DayKind.objects.bulk_create([DayKind(year=year, key=key, name=name) for key, name in named.items()])
    rows.kinds = {kind.key: kind for kind in kinds}
    Closure.objects.bulk_create(
        Closure(year=year, first_day=date_in(span["from"]), last_day=date_in(span["to"]), name=span.get("name", ""))
        for span in written.get("closed", ())
    )
    StandingKind.objects.bulk_create(
        StandingKind(year=year, weekday=standing["day"], kind=rows.kinds[standing["kind"]])
        for standing in written.get("standing_kinds", ())
    )
    CalendarDay.objects.bulk_create(
        CalendarDay(year=year, date=date_in(day["date"]), kind=rows.kinds[day["kind"]])
        for day in written.get("days", ())
    )


def insert_activities(rows: Rows, document: Document) -> None:
    made = Activity.objects.bulk_create(
        Activity(
            year=rows.year,
            key=activity["key"],
            name=activity["name"],
            frees_teacher=activity.get("frees_teacher", False),
        )
        for activity in document.get("activities", ())
    )
    rows.activities = {activity.key: activity for activity in made}


def insert_shared_resources(rows: Rows, document: Document) -> None:
    made = SharedResource.objects.bulk_create(
        SharedResource(year=rows.year, key=written["key"], name=written["name"], capacity=written.get("capacity", 1))
        for written in document.get("shared_resources", ())
    )
    rows.resources = {resource.key: resource for resource in made}


def insert_bells(rows: Rows, document: Document) -> None:
    """One row for each grade of a bell schedule."""
    bells: list[BellSchedule] = []
    fixed: list[FixedStretch] = []
    for written in document.get("bell_schedules", ()):
        for grade in written["grades"]:
            bell = BellSchedule(
                year=rows.year,
                grade=grade,
                kind=rows.kinds[written.get("kind", REGULAR)],
                start=minutes_of(written["start"]),
                dismissal=minutes_of(written["dismissal"]),
            )
            bells.append(bell)
            fixed += [
                FixedStretch(
                    bell_schedule=bell,
                    activity=rows.activities[stretch["activity"]],
                    start=minutes_of(stretch["start"]),
                    end=minutes_of(stretch["end"]),
                    days=stretch.get("days") or None,
                )
                for stretch in written.get("fixed", ())
            ]
    BellSchedule.objects.bulk_create(bells)
    FixedStretch.objects.bulk_create(fixed)


def insert_rules(rows: Rows, document: Document) -> None:
    Rule.objects.bulk_create(_rule(rows.year, written) for written in document.get("rules", ()))


def _rule(year: SchoolYear, written: Document) -> Rule:
    citation, effective = written.get("citation", {}), written.get("effective", {})
    return Rule(
        year=year,
        key=written["key"],
        name=written["name"],
        grades=written["grades"],
        standing=written.get("standing", "school"),
        citation_title=citation.get("title", ""),
        citation_url=citation.get("url", ""),
        citation_checked=date_of(citation.get("checked")),
        effective_from=date_of(effective.get("from")),
        effective_to=date_of(effective.get("to")),
        not_checkable=written.get("not_checkable", ""),
        note=written.get("note", ""),
        body=body_of(written),
    )


def place_teams_and_classrooms(rows: Rows, document: Document) -> None:
    """Teams and classrooms of the file: those the year has by their key are kept, others go."""
    _place_teams(rows, document)
    _place_classrooms(rows, document)
    Classroom.objects.filter(year=rows.year).exclude(key__in=rows.classrooms).delete()
    Team.objects.filter(year=rows.year).exclude(key__in=rows.teams).delete()


def _place_teams(rows: Rows, document: Document) -> None:
    kept = {team.key: team for team in Team.objects.filter(year=rows.year)}
    for written in document.get("teams", ()):
        team = kept.get(written["key"]) or Team(year=rows.year, key=written["key"])
        team.name, team.grades = written["name"], written["grades"]
        team.edits_together, team.retired = written.get("edits_together", False), written.get("retired", False)
        rows.teams[team.key] = team
    Team.objects.bulk_create(team for key, team in rows.teams.items() if key not in kept)
    Team.objects.bulk_update(
        [team for key, team in rows.teams.items() if key in kept], ["name", "grades", "edits_together", "retired"]
    )


def _place_classrooms(rows: Rows, document: Document) -> None:
    kept = {room.key: room for room in Classroom.objects.filter(year=rows.year)}
    for written in document.get("classrooms", ()):
        room = kept.get(written["key"]) or Classroom(year=rows.year, key=written["key"])
        room.team = rows.teams[written["team"]]
        room.name, room.grades, room.room = written.get("name", ""), written["grades"], written.get("room", "")
        room.enrolment, room.cap = written.get("enrolment"), written.get("cap")
        room.retired = written.get("retired", False)
        rows.classrooms[room.key] = room
    Classroom.objects.bulk_create(room for key, room in rows.classrooms.items() if key not in kept)
    Classroom.objects.bulk_update(
        [room for key, room in rows.classrooms.items() if key in kept],
        ["team", "name", "grades", "room", "enrolment", "cap", "retired"],
        batch_size=500,
    )
