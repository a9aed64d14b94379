"""Reads of schools: all of them with how each stands, or one with its years and who looks after it."""

from collections import defaultdict
from dataclasses import dataclass

from scheduling.selectors.school_standing import YearStanding, standings_of
from teamroom.dates.models import School, SchoolYear
from teamroom.members.models import DistrictRole, SchoolRole
from teamroom.members.selectors.invitations import InvitationLine, invitation_lines
from teamroom.members.selectors.years import current_years


@dataclass(frozen=True)
class SchoolLine:
    """A school with its current year, if it has any, and how that year's classrooms stand."""

    school: School
    year: SchoolYear | None
    standing: YearStanding
    administrators: list[str]


def school_lines() -> list[SchoolLine]:
    """All schools by name, in a fixed number of queries."""
    years = {year.school_id: year for year in current_years(SchoolYear.objects.select_related("school"))}
    standings = standings_of([year.pk for year in years.values()])
    administrators: dict[int, list[str]] = defaultdict(list)
    roles = SchoolRole.objects.filter(role="administrator", member__is_active=True).select_related("member")
    for role in roles.order_by("member__name"):
        administrators[role.school_id].append(role.member.name)
    return [
        SchoolLine(
            school,
            year := years.get(school.pk),
            standings.get(year.pk, YearStanding()) if year else YearStanding(),
            administrators[school.pk],
        )
        for school in School.objects.order_by("name")
    ]


def district_administrators() -> list[DistrictRole]:
    return list(DistrictRole.objects.select_related("member").order_by("member__name", "pk"))


@dataclass(frozen=True)
class SchoolPage:
    """A school's years, the current one first, and who looks after the whole of it."""

    current: SchoolYear | None
    others: list[SchoolYear]
    roles: list[SchoolRole]
    invitations: list[InvitationLine]


def school_page(school: School) -> SchoolPage:
    years = list(school.years.select_related("school").order_by("-first_day", "-pk"))
    current = next(iter(current_years(years)), None)
    return SchoolPage(
        current=current,
        others=[year for year in years if year != current],
        roles=list(school.roles.select_related("member").order_by("role", "member__name")),
        invitations=[line for line in invitation_lines(school) if line.invitation.school_role],
    )
