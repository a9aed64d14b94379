"""Founding schools, and who is of the district."""

import zoneinfo

from django.db import IntegrityError, transaction

from teamroom.common.errors import RuleBroken
from teamroom.dates.models import School
from teamroom.members.models import Member, SchoolRole


@transaction.atomic
def found_school(*, name: str, time_zone: str, place: str = "", administrator: Member | None = None) -> School:
    """A new school, with its first administrator where one is named.

    `time_zone` is one of IANA's names, `place` a state as ISO 3166-2 writes it (US-CA) or empty.
    RuleBroken for a name that is taken or missing, and for a time zone there is none of.
    """
    name = " ".join(name.split())
    if not name:
        raise RuleBroken("Give the school's name.", field="name")
    if time_zone not in zoneinfo.available_timezones():
        raise RuleBroken("Choose the school's time zone from the list.", field="time_zone")
    if School.objects.filter(name__iexact=name).exists():
        raise RuleBroken(f"There is a school called {name} already. Give this one a name of its own.", field="name")
    try:
        with transaction.atomic():
            school = School.objects.create(name=name, time_zone=time_zone, place=place)
    except IntegrityError as taken:
        # Founded by somebody else in the same moment.
        raise RuleBroken(f"There is a school called {name} already.", field="name") from taken
    if administrator is not None:
        SchoolRole.objects.create(school=school, member=administrator, role="administrator")
    return school
