"""Closing an account: nobody signs in with it, and everything it did stays readable under its name."""

from django.db import transaction

from teamroom.common.errors import RuleBroken
from teamroom.dates.models import School
from teamroom.members.models import DistrictRole, Member, SchoolRole
from teamroom.members.selectors.roles_held import roles_in_district
from teamroom.members.services.accounts import end_sessions
from teamroom.members.services.district import check_another_of_district, hold_district
from teamroom.members.services.people import check_another_administrator, hold_administrators
from teamroom.members.services.withdrawing import withdraw_unbacked


@transaction.atomic
def close_account(person: Member, *, by: Member) -> int:
    """Nobody signs in with it from now on, and whoever is signed in with it is out.

    Gives how many open invitations of theirs were taken back. RuleBroken where it is for somebody
    else to do, or where a school or the district would be left without an administrator.
    """
    if person.pk == by.pk:
        raise RuleBroken("Nobody closes their own account: ask another administrator to close yours.")
    schools = list(School.objects.filter(roles__member=person, roles__role="administrator"))
    hold_district()
    hold_administrators([school.pk for school in schools])
    check_for_closing(person, by=by)
    check_another_of_district(person)
    for school in schools:
        check_another_administrator(school, person)
    Member.objects.filter(pk=person.pk).update(is_active=False)
    person.is_active = False
    withdrawn = withdraw_unbacked(person)
    end_sessions(person)
    return withdrawn


@transaction.atomic
def reopen_account(person: Member, *, by: Member) -> Member:
    """They sign in as before, with the roles they had. RuleBroken where it is for somebody else to do."""
    check_for_closing(person, by=by)
    Member.objects.filter(pk=person.pk).update(is_active=True)
    person.is_active = True
    return person


def check_for_closing(person: Member, *, by: Member) -> None:
    """Raise RuleBroken where closing or opening an account is not for `by`, but for the district."""
    if roles_in_district(by):
        return
    mine = SchoolRole.objects.filter(member=by, role="administrator").values_list("school", flat=True)
    elsewhere = School.objects.exclude(pk__in=mine)
    if DistrictRole.objects.filter(member=person).exists():
        raise RuleBroken(f"{person} is of the district: another district administrator has to do this.")
    if (
        elsewhere.filter(roles__member=person).exists()
        or elsewhere.filter(years__teams__roles__member=person).exists()
        or elsewhere.filter(years__classrooms__class_teachers__member=person).exists()
    ):
        raise RuleBroken(
            f"{person} has a part in another school too: a district administrator has to do this. You can take away "
            "their roles in your school."
        )
