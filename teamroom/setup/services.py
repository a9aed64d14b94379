"""Beginning a school, and whether its year is still being set up, which its administrator alone decides."""

import datetime as dt
from pathlib import Path
from typing import NamedTuple

from django.conf import settings
from django.db import transaction

from teamroom.common.errors import RuleBroken
from teamroom.dates.models import School, SchoolYear
from teamroom.dates.services import begin_school_year
from teamroom.demo.load import SIGN_IN_FILE, DemoPerson, load_demo
from teamroom.members.models import Member
from teamroom.members.services.people import give_school_role
from teamroom.members.services.schools import found_school


@transaction.atomic
def begin_school(
    member: Member,
    *,
    name: str,
    place: str,
    time_zone: str,
    year_name: str,
    first_day: dt.date,
    last_day: dt.date,
) -> SchoolYear:
    """A school with its first year, to be set up; the member becomes its administrator. Raises RuleBroken."""
    school = found_school(name=name, time_zone=time_zone, place=place, administrator=member)
    return begin_school_year(school, name=year_name, first_day=first_day, last_day=last_day)


class DemoBegun(NamedTuple):
    """The invented people, and the server's file that says how to sign in as each."""

    people: list[DemoPerson]
    kept_in: Path


@transaction.atomic
def begin_demo(member: Member) -> DemoBegun:
    """The demo school with the member as one more administrator. RuleBroken where there is a school already."""
    if School.objects.exists():
        raise RuleBroken("There is a school here already: the demo school is loaded only where there is none.")
    people = load_demo().people
    give_school_role(member, School.objects.get(), "administrator")
    return DemoBegun(people, Path(settings.DATA_DIR) / SIGN_IN_FILE)


@transaction.atomic
def end_setting_up(year: SchoolYear) -> None:
    """Show the way from step to step no longer. Nothing else changes, and it can be taken back."""
    SchoolYear.objects.filter(pk=year.pk).update(being_set_up=False)


@transaction.atomic
def set_up_again(year: SchoolYear) -> None:
    """Show the way from step to step again."""
    SchoolYear.objects.filter(pk=year.pk).update(being_set_up=True)
