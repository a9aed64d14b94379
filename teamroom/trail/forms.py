"""Which part of the trail somebody asks for."""

import datetime as dt
import uuid
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.db.models import Q

from teamroom.dates.forms import day_field
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Member, SchoolRole, TeamRole
from teamroom.trail.kinds import PLACE, SORTS, records_of
from teamroom.trail.reading import CONSOLE, EARLIEST, LATEST, Asked, Moment


class TrailForm(forms.Form):
    """What happened, by whom, between which dates: each may be left open."""

    sort = forms.ChoiceField(label="What", required=False, choices=[("", "Everything"), *SORTS.items()])
    by = forms.ChoiceField(label="Who", required=False)
    first = day_field("From", "")
    last = day_field("To", "")

    def __init__(self, data: Any, *, year: SchoolYear) -> None:
        super().__init__(data)
        self.year = year
        self.fields["first"].required = self.fields["last"].required = False
        by = self.fields["by"]
        assert isinstance(by, forms.ChoiceField)  # noqa: S101 - for types
        by.choices = [("", "Everybody"), *doers(year), (CONSOLE, "The server’s console")]

    def asked(self, *, of_district: bool) -> Asked:
        """The records asked for; what was written wrongly asks for nothing in particular."""
        given = self.cleaned_data if self.is_valid() else {}
        by = given.get("by", "")
        first, last = given.get("first"), given.get("last")
        return Asked(
            self.year,
            of_district=of_district,
            sort=given.get("sort") or None,
            by="console" if by == CONSOLE else int(by) if by else None,
            first=self._midnight(first) if first else EARLIEST,
            until=self._midnight(last + dt.timedelta(days=1)) if last and last < dt.date.max else LATEST,
        )

    def _midnight(self, date: dt.date) -> dt.datetime:
        return dt.datetime.combine(date, dt.time(), ZoneInfo(self.year.school.time_zone))


def doers(year: SchoolYear) -> list[tuple[int, str]]:
    """Everybody who can have done something in the year: who has or had a part in its school, or in the district."""
    parts = (
        Q(pk__in=records_of(SchoolRole)._default_manager.filter(school=year.school_id).values("member_id"))
        | Q(pk__in=records_of(TeamRole)._default_manager.filter(team__year=year).values("member_id"))
        | Q(school_roles__school=year.school_id)
        | Q(team_roles__team__year=year)
        | Q(district_role__isnull=False)
    )
    return list(Member.objects.filter(parts).distinct().order_by("name", "pk").values_list("pk", "name"))


def moment_in(written: str) -> dt.datetime | None:
    """A moment out of an address; None for anything else."""
    try:
        found = dt.datetime.fromisoformat(written)
    except ValueError:
        return None
    return found if found.tzinfo is not None and EARLIEST <= found <= LATEST else None


def whole_moment_in(at: str, context: str) -> Moment | None:
    """A moment with its request, out of an address."""
    found = moment_in(at)
    if found is None:
        return None
    try:
        return Moment(found, uuid.UUID(context) if context else None)
    except ValueError:
        return None


def place_in(written: str) -> tuple[int, int]:
    """A place among the records of a moment, out of an address; their beginning for anything else."""
    kind, _, pk = written.partition("-")
    if kind.isdecimal() and pk.isdecimal() and int(kind) < len(PLACE) and int(pk) < 2**31:
        return int(kind), int(pk)
    return -1, -1
