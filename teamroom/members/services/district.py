"""Who is of the district: never nobody."""

from django.db import transaction

from teamroom.common.errors import RuleBroken
from teamroom.common.live.announcing import announce, person_topic
from teamroom.members.models import DistrictRole, Member
from teamroom.members.selectors.invitations import member_of
from teamroom.members.services.withdrawing import withdraw_unbacked


@transaction.atomic
def give_district_role(*, email: str) -> Member:
    """Make whoever signs in with an address a district administrator; RuleBroken if nobody does."""
    member = member_of(email)
    if member is None or not member.is_active:
        raise RuleBroken("Nobody signs in with this address. Invite them to a school first.", field="email")
    DistrictRole.objects.get_or_create(member=member)
    return member


@transaction.atomic
def take_district_role(member: Member) -> int:
    """Take the district's role away: how many open invitations of theirs went with it.

    RuleBroken where nobody else of the district can sign in.
    """
    hold_district()
    check_another_of_district(member)
    DistrictRole.objects.filter(member=member).delete()
    withdrawn = withdraw_unbacked(member)
    announce(person_topic(member.pk))
    return withdrawn


def hold_district() -> None:
    """Until the transaction ends nobody else of the district loses that role or their account."""
    list(DistrictRole.objects.select_for_update().order_by("pk"))


def check_another_of_district(leaving: Member) -> None:
    """Raise RuleBroken where the district would be left without an administrator; it must be held."""
    active = DistrictRole.objects.filter(member__is_active=True)
    if active.filter(member=leaving).exists() and not active.exclude(member=leaving).exists():
        raise RuleBroken(f"{leaving} is the only district administrator. Make somebody else one first.", field="email")
