"""A school's next year out of one that it has: what somebody ticks is copied, and never a week."""

import datetime as dt
from collections.abc import Collection, Mapping
from typing import Any, TypeVar

from django.db import transaction
from django.db.models import Model, Q, QuerySet

from scheduling.models import Activity, BellSchedule, FixedStretch, Rule, SharedResource
from scheduling.services.compliance import recompute
from teamroom.dates.calendar_maths import REGULAR
from teamroom.dates.models import DayKind, SchoolYear, StandingKind
from teamroom.dates.services import begin_school_year, begin_year_change, hold_year
from teamroom.members.models import Classroom, ClassTeacher, Team, TeamRole

Row = TypeVar("Row", bound=Model)

PARTS = {
    "kinds": "Kinds of day",
    "standing": "Standing days",
    "cycle": "The cycle and the number of school days required",
    "activities": "Activities",
    "shared": "Shared resources",
    "bells": "Bell schedules",
    "rules": "Rules",
    "teams": "Teams and classrooms",
    "people": "People in their teams and classes",
}
# What a part cannot stand without.
NEEDS: Mapping[str, tuple[str, ...]] = {
    "standing": ("kinds",),
    "bells": ("kinds", "activities"),
    "rules": ("kinds", "activities"),
    "people": ("teams",),
}


@transaction.atomic
def begin_next_year(
    old: SchoolYear, *, name: str, first_day: dt.date, last_day: dt.date, take: Collection[str]
) -> SchoolYear:
    """A new year of the same school with copies of the parts to take (keys of PARTS) and what they need.

    Retired teams and classrooms stay behind, and so do rules that are over before the year begins, closures, day
    changes, weeks and head counts. Raises RuleBroken at `year_name`, `first_day` or `last_day`.
    """
    hold_year(SchoolYear.objects.filter(pk=old.pk).values("pk"))
    year = begin_school_year(old.school, name=name, first_day=first_day, last_day=last_day)
    parts = {*take, *(need for part in take for need in NEEDS.get(part, ()))}
    copier = _Copier(old, year)
    for part in PARTS:
        if part in parts:
            getattr(copier, part)()
    recompute(begin_year_change(year.pk))
    return year


class _Copier:
    """Copies of one year's rows in another; ids of the old rows lead to the new ones."""

    def __init__(self, old: SchoolYear, year: SchoolYear) -> None:
        self.old, self.year = old, year
        self.new: dict[tuple[type[Model], int], Any] = {}

    def kinds(self) -> None:
        regular = DayKind.objects.get(year=self.year, key=REGULAR)
        was = DayKind.objects.get(year=self.old, key=REGULAR)
        regular.name = was.name
        regular.save()
        self.new[DayKind, was.pk] = regular
        self._copy(DayKind.objects.filter(year=self.old).exclude(key=REGULAR), year_id=self.year.pk)

    def standing(self) -> None:
        self._copy(StandingKind.objects.filter(year=self.old), year_id=self.year.pk)

    def cycle(self) -> None:
        # Where the new cycle starts is for its own first day to say.
        for column in ("cycle_kind", "cycle_length", "required_days", "required_days_source"):
            setattr(self.year, column, getattr(self.old, column))
        self.year.save()

    def activities(self) -> None:
        self._copy(Activity.objects.filter(year=self.old), year_id=self.year.pk)

    def shared(self) -> None:
        self._copy(SharedResource.objects.filter(year=self.old), year_id=self.year.pk)

    def bells(self) -> None:
        self._copy(BellSchedule.objects.filter(year=self.old), year_id=self.year.pk)
        self._copy(FixedStretch.objects.filter(bell_schedule__year=self.old))

    def rules(self) -> None:
        goes_on = Q(effective_to=None) | Q(effective_to__gte=self.year.first_day)
        self._copy(Rule.objects.filter(goes_on, year=self.old), year_id=self.year.pk)

    def teams(self) -> None:
        self._copy(Team.objects.filter(year=self.old, retired=False), year_id=self.year.pk)
        rooms = Classroom.objects.filter(year=self.old, retired=False, team__retired=False)
        self._copy(rooms, year_id=self.year.pk, enrolment=None)

    def people(self) -> None:
        """Who is in a team, and who teaches a class on the old year's last day; not who has left."""
        here = Q(member__is_active=True)
        self._copy(TeamRole.objects.filter(here, team__in=self._olds(Team)))
        stays = Q(last_day=None) | Q(last_day__gte=self.old.last_day)
        teachers = ClassTeacher.objects.filter(here & stays, classroom__in=self._olds(Classroom))
        self._copy(teachers, first_day=None, last_day=None)

    def _olds(self, model: type[Model]) -> list[int]:
        return [pk for kind, pk in self.new if kind is model]

    def _copy(self, rows: QuerySet[Row], **changed: Any) -> None:
        """Copies of some rows with all their columns, each pointing to the copies of what the rows pointed to."""
        olds = list(rows.order_by("pk"))
        news = rows.model._default_manager.bulk_create([self._row(old, changed) for old in olds])
        self.new |= {(rows.model, old.pk): new for old, new in zip(olds, news, strict=True)}

    def _row(self, old: Row, changed: Mapping[str, Any]) -> Row:
        values: dict[str, Any] = {}
        for column in old._meta.concrete_fields:
            value = getattr(old, column.attname)
            to = column.related_model
            if isinstance(to, type) and (to, value) in self.new:
                value = self.new[to, value].pk
            if not column.primary_key:
                values[column.attname] = value
        return type(old)(**{**values, **changed})


def what_there_is(old: SchoolYear) -> dict[str, int]:
    """How many rows each part has that could be copied; the cycle counts as one."""
    rooms = Classroom.objects.filter(year=old, retired=False, team__retired=False)
    return {
        "kinds": DayKind.objects.filter(year=old).count(),
        "standing": StandingKind.objects.filter(year=old).count(),
        "cycle": 1,
        "activities": Activity.objects.filter(year=old).count(),
        "shared": SharedResource.objects.filter(year=old).count(),
        "bells": BellSchedule.objects.filter(year=old).count(),
        "rules": Rule.objects.filter(year=old).count(),
        "teams": rooms.count(),
        "people": TeamRole.objects.filter(team__year=old, team__retired=False, member__is_active=True).count(),
    }
