"""The tables of a year's trail: what each is called, what it is sorted under, and how it belongs to a year."""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from django.apps import apps
from django.db.models import Model

from scheduling.models import Activity, BellSchedule, DayChange, FixedStretch, Rule, SharedResource, SpecialistPost
from teamroom.dates.models import CalendarDay, Closure, DayKind, School, SchoolYear, StandingKind
from teamroom.members.models import (
    Classroom,
    ClassTeacher,
    DistrictRole,
    Invitation,
    SchoolRole,
    Team,
    TeamRole,
)

Sort = Literal["rules", "people", "calendar", "bells", "classrooms"]
SORTS: dict[Sort, str] = {
    "rules": "Rules, activities and what is shared",
    "people": "People and roles",
    "calendar": "Calendar",
    "bells": "Bells",
    "classrooms": "Teams and classrooms",
}
Belonging = Literal["year", "school", "the year", "the school", "district"]


@dataclass(frozen=True)
class Kind:
    """A table that is kept. `column` ties a record to its year or school, or to its `parent`, which does."""

    key: str
    model: type[Model]
    sort: Sort
    thing: str
    things: str
    belongs: Belonging = "year"
    column: str = "year_id"
    parent: type[Model] | None = None

    @cached_property
    def table(self) -> str:
        return records_of(self.model)._meta.db_table


def records_of(model: type[Model]) -> type[Model]:
    """The model of a kept model's records, which the library makes beside it."""
    return apps.get_model(model._meta.app_label, f"{model.__name__}Event")


KINDS = (
    Kind("school", School, "calendar", "school", "schools", "the school", "id"),
    Kind("year", SchoolYear, "calendar", "year", "years", "the year", "id"),
    Kind("day kind", DayKind, "calendar", "day kind", "day kinds"),
    Kind("standing kind", StandingKind, "calendar", "standing day", "standing days"),
    Kind("closure", Closure, "calendar", "closure", "closures"),
    Kind("calendar day", CalendarDay, "calendar", "date of another kind", "dates of another kind"),
    Kind("day change", DayChange, "calendar", "day change", "day changes"),
    Kind("activity", Activity, "rules", "activity", "activities"),
    Kind("shared resource", SharedResource, "rules", "shared resource", "shared resources"),
    Kind("bell schedule", BellSchedule, "bells", "bell schedule", "bell schedules"),
    Kind("fixed stretch", FixedStretch, "bells", "fixed time", "fixed times", "year", "bell_schedule_id", BellSchedule),
    Kind("rule", Rule, "rules", "rule", "rules"),
    Kind("team", Team, "classrooms", "team", "teams"),
    Kind("classroom", Classroom, "classrooms", "classroom", "classrooms"),
    Kind(
        "class teacher",
        ClassTeacher,
        "people",
        "teacher of a class",
        "teachers of classes",
        "year",
        "classroom_id",
        Classroom,
    ),
    Kind("team role", TeamRole, "people", "part in a team", "parts in teams", "year", "team_id", Team),
    Kind("school role", SchoolRole, "people", "part in the school", "parts in the school", "school", "school_id"),
    Kind("specialist", SpecialistPost, "people", "specialist’s post", "specialists’ posts"),
    Kind("invitation", Invitation, "people", "invitation", "invitations", "school", "school_id"),
    Kind("district role", DistrictRole, "people", "part in the district", "parts in the district", "district", "id"),
)
BY_KEY = {kind.key: kind for kind in KINDS}
PLACE = {kind.key: place for place, kind in enumerate(KINDS)}
