"""Two at once, on two connections: one invitation lets one in, and nobody is left without an administrator."""

from functools import partial

import pytest

from teamroom.common.errors import RuleBroken
from teamroom.members.models import DistrictRole, Invitation, Member, SchoolRole, TeamRole
from teamroom.members.services.closing import close_account
from teamroom.members.services.district import take_district_role
from teamroom.members.services.invitations import accept, come_in, renew, revoke
from teamroom.members.services.people import take_school_role
from tests import factories as make
from tests.at_once import at_once
from tests.members.letting_in import PASSPHRASE, Place, address, token_of

pytestmark = pytest.mark.django_db(transaction=True)
ROUNDS = 4


def test_of_two_who_come_in_by_one_invitation_one_does() -> None:
    place = Place()
    for number in range(ROUNDS):
        token = token_of(place.invited(f"nora{number}@school.example"))
        refused = at_once(*[partial(come_in, token, name=name, passphrase=PASSPHRASE) for name in ("Nora", "Eve")])
        assert len(refused) == 1
        assert Member.objects.filter(email=f"nora{number}@school.example").count() == 1
        assert Invitation.objects.exclude(accepted_at=None).count() == number + 1
    assert TeamRole.objects.filter(role="teacher").count() == ROUNDS


def test_of_two_acceptances_by_one_member_one_counts() -> None:
    place = Place()
    nora = make.make_member("Nora")
    for _ in range(ROUNDS):
        TeamRole.objects.filter(member=nora).delete()
        token = token_of(place.invited())
        refused = at_once(*[partial(accept, token, member=nora) for _ in range(2)])
        assert [type(each).__name__ for each in refused] == ["Worthless"]
        assert TeamRole.objects.filter(member=nora).count() == 1


def test_an_invitation_is_either_taken_back_or_accepted() -> None:
    place = Place()
    for number in range(ROUNDS):
        made = place.invited(f"nora{number}@school.example")
        come = partial(come_in, token_of(made), name="Nora", passphrase=PASSPHRASE)
        refused = at_once(come, partial(revoke, made.invitation))
        kept = Invitation.objects.get(pk=made.invitation.pk)
        assert len(refused) == 1
        assert (kept.accepted_at is None) != (kept.revoked_at is None)
        is_in = Member.objects.filter(email=kept.email).exists()
        assert is_in == (kept.accepted_at is not None)


def test_two_invitations_of_one_address_at_once_leave_one() -> None:
    place = Place()
    for number in range(ROUNDS):
        refused = at_once(*[partial(place.invited, f"nora{number}@school.example") for _ in range(2)])
        assert len(refused) == 1
        assert Invitation.objects.filter(email=f"nora{number}@school.example").count() == 1


def test_two_renewals_at_once_leave_one_link_that_works() -> None:
    place = Place()
    made = place.invited()
    assert not at_once(*[partial(renew, made.invitation, by=place.administrator, address_of=address) for _ in range(2)])
    assert Invitation.objects.count() == 1


def test_two_administrators_who_leave_at_once_leave_one() -> None:
    place = Place()
    other = make.make_coordinator(place.school, "Una", "administrator")
    for _ in range(ROUNDS):
        for member in (place.administrator, other):
            SchoolRole.objects.get_or_create(school=place.school, member=member, role="administrator")
        refused = at_once(
            *[
                partial(take_school_role, member, place.school, "administrator")
                for member in (place.administrator, other)
            ]
        )
        assert len(refused) == 1 and "only administrator" in refused[0].message
        assert SchoolRole.objects.filter(role="administrator").count() == 1


def test_one_who_leaves_while_the_other_is_closed_is_kept() -> None:
    place = Place()
    other = make.make_coordinator(place.school, "Una", "administrator")
    dita = make.make_member("Dita")
    DistrictRole.objects.create(member=dita)
    for _ in range(ROUNDS):
        Member.objects.filter(pk=other.pk).update(is_active=True)
        other.refresh_from_db()
        SchoolRole.objects.get_or_create(school=place.school, member=place.administrator, role="administrator")
        refused = at_once(
            partial(close_account, Member.objects.get(pk=other.pk), by=dita),
            partial(take_school_role, place.administrator, place.school, "administrator"),
        )
        assert len(refused) == 1
        assert SchoolRole.objects.filter(role="administrator", member__is_active=True).count() == 1


def test_two_of_the_district_who_leave_at_once_leave_one() -> None:
    people = [make.make_member(name) for name in ("Dita", "Dora")]
    for _ in range(ROUNDS):
        for member in people:
            DistrictRole.objects.get_or_create(member=member)
        refused = at_once(*[partial(take_district_role, member) for member in people])
        assert len(refused) == 1 and isinstance(refused[0], RuleBroken)
        assert DistrictRole.objects.count() == 1


def test_two_who_invited_each_other_and_accept_at_once_do_not_wait_for_each_other() -> None:
    place = Place()
    other = make.make_teammate(place.other_room.team, "Lars", "lead")
    for _ in range(ROUNDS):
        TeamRole.objects.filter(role="guest").delete()
        to_lars = place.invited(other.email, by=place.lead, team=place.team, team_role="guest")
        to_lena = place.invited(place.lead.email, by=other, team=place.other_room.team, team_role="guest")
        refused = at_once(
            partial(accept, token_of(to_lars), member=other), partial(accept, token_of(to_lena), member=place.lead)
        )
        assert refused == []
