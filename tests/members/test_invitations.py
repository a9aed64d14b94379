"""Invitations: for one address, once, until they expire; and nobody gives what is not theirs to give."""

import datetime as dt
import re
from typing import Any

import pytest
from django.core import mail
from django.utils import timezone

from teamroom.common.errors import Denied, RuleBroken
from teamroom.members.models import ClassTeacher, DistrictRole, Invitation, Member, TeamRole
from teamroom.members.services.invitations import (
    Offer,
    Worthless,
    accept,
    come_in,
    invitation_of,
    invite,
    renew,
    revoke,
)
from teamroom.members.services.people import give_team_role, take_school_role, take_team_role
from teamroom.members.services.teams import retire_team
from tests import factories as make
from tests.members.letting_in import PASSPHRASE, Place, address, token_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Place:
    return Place()


def arrive(token: str) -> Member:
    return come_in(token, name="Nora", passphrase=PASSPHRASE)


def test_a_newcomer_has_an_account_and_all_that_the_invitation_gives(place: Place) -> None:
    made = place.invited(school_role="coordinator", team=place.team, team_role="teacher", classroom=place.room)
    nora = arrive(token_of(made))
    assert nora.email == "nora@school.example" and nora.check_password(PASSPHRASE)
    assert [role.role for role in nora.school_roles.all()] == ["coordinator"]
    assert [(part.team, part.role) for part in nora.team_roles.all()] == [(place.team, "teacher")]
    assert list(nora.classrooms.all()) == [place.room]
    invitation = Invitation.objects.get()
    assert invitation.accepted_by == nora and invitation.accepted_at is not None


def test_a_classroom_brings_its_team(place: Place) -> None:
    nora = arrive(token_of(place.invited(classroom=place.room)))
    assert TeamRole.objects.get(member=nora).role == "teacher"


def test_the_letter_says_who_invites_to_what_until_when_and_holds_the_link(place: Place) -> None:
    made = place.invited(by=place.lead, team=place.team, team_role="guest")
    letter = mail.outbox[0]
    assert letter.to == ["nora@school.example"]
    assert letter.subject == "Your invitation to Fernhollow Elementary"
    assert made.link.rstrip("/") in letter.body
    for words in (
        "Lena invites you",
        "guest of Grade 4",
        "nora@school.example alone",
        f"{made.invitation.expires_at:%Y}",
    ):
        assert words in letter.body


def test_only_a_hash_of_the_secret_is_kept(place: Place) -> None:
    token = token_of(place.invited())
    assert re.fullmatch(r"[\w-]{43}", token)
    assert token not in str(Invitation.objects.values())


def test_it_is_good_for_two_weeks_unless_told(place: Place) -> None:
    usual, short = place.invited(), place.invited("other@school.example", days=3)
    for made, days in ((usual, 14), (short, 3)):
        assert made.invitation.expires_at - made.invitation.invited_at == dt.timedelta(days=days)


def test_a_used_invitation_opens_nothing(place: Place) -> None:
    token = token_of(place.invited())
    nora = arrive(token)
    for again in (lambda: arrive(token), lambda: accept(token, member=nora), lambda: invitation_of(token)):
        with pytest.raises(Worthless):
            again()


def test_an_expired_invitation_opens_nothing_and_makes_room_for_a_new_one(place: Place) -> None:
    made = place.invited()
    Invitation.objects.update(expires_at=timezone.now())
    with pytest.raises(Worthless):
        arrive(token_of(made))
    assert not Member.objects.filter(name="Nora").exists()
    arrive(token_of(place.invited()))


def test_one_taken_back_opens_nothing_until_it_is_renewed_with_another_link(place: Place) -> None:
    made = place.invited()
    revoke(made.invitation)
    revoke(made.invitation)
    with pytest.raises(Worthless):
        arrive(token_of(made))
    fresh = renew(made.invitation, by=place.administrator, address_of=address)
    with pytest.raises(Worthless):
        arrive(token_of(made))
    arrive(token_of(fresh))
    assert len(mail.outbox) == 2


def test_what_was_accepted_is_neither_taken_back_nor_renewed(place: Place) -> None:
    made = place.invited()
    arrive(token_of(made))
    for deed in (
        lambda: revoke(made.invitation),
        lambda: renew(made.invitation, by=place.administrator, address_of=address),
    ):
        with pytest.raises(RuleBroken, match="was accepted"):
            deed()


@pytest.mark.parametrize("token", ["", "x", "é" * 90, "\udce4", "0" * 64])
def test_any_other_text_opens_nothing(place: Place, token: str) -> None:
    place.invited()
    with pytest.raises(Worthless):
        invitation_of(token)
    with pytest.raises(Worthless):
        arrive(token)


def test_the_hash_itself_opens_nothing(place: Place) -> None:
    place.invited()
    with pytest.raises(Worthless):
        arrive(Invitation.objects.get().token_hash)


def test_somebody_with_an_account_accepts_and_keeps_what_they_had(place: Place) -> None:
    nora = make.make_teammate(place.other_room.team, "Nora", "lead")
    assert accept(token_of(place.invited("NORA@School.example")), member=nora).accepted_by == nora
    assert {part.role for part in nora.team_roles.all()} == {"lead", "teacher"}


def test_accepting_takes_nothing_away(place: Place) -> None:
    accept(
        token_of(place.invited(place.lead.email, team=place.team, team_role="guest")),
        member=place.lead,
    )
    assert TeamRole.objects.get(member=place.lead).role == "lead"


def test_it_is_for_nobody_else(place: Place) -> None:
    token = token_of(place.invited())
    for other in (place.lead, make.make_member("Eve"), make.make_member("Noraa")):
        with pytest.raises(RuleBroken, match="another address"):
            accept(token, member=other)
    invitation_of(token)


def test_an_address_with_an_account_makes_no_second_one(place: Place) -> None:
    token = token_of(place.invited())
    make.make_member("NORA")
    with pytest.raises(RuleBroken, match="has an account"):
        arrive(token)
    invitation_of(token)


def test_a_weak_passphrase_leaves_nothing_behind(place: Place) -> None:
    token = token_of(place.invited())
    for weak in ("short", "passwordpassword"[:8], "nora@school.example", "1234567890123"):
        with pytest.raises(RuleBroken) as refused:
            come_in(token, name="Nora", passphrase=weak)
        assert refused.value.field == "passphrase"
    assert not Member.objects.filter(name="Nora").exists()
    invitation_of(token)


LEAD_MAY_NOT: dict[str, Any] = {
    "a role in the school": lambda p: {"school_role": "coordinator"},
    "a role in the school beside one in the team": lambda p: {
        "school_role": "administrator",
        "team": p.team,
        "team_role": "guest",
    },
    "another team": lambda p: {"team": p.other_room.team, "team_role": "guest"},
    "another team's classroom": lambda p: {"classroom": p.other_room},
}


@pytest.mark.parametrize("what", LEAD_MAY_NOT)
def test_a_lead_invites_to_their_own_team_only(place: Place, what: str) -> None:
    with pytest.raises(Denied):
        place.invited(by=place.lead, **LEAD_MAY_NOT[what](place))
    assert not Invitation.objects.exists() and not mail.outbox


@pytest.mark.parametrize("role", ["lead", "teacher", "guest"])
def test_a_lead_gives_any_role_of_their_team(place: Place, role: str) -> None:
    nora = arrive(token_of(place.invited(by=place.lead, team=place.team, team_role=role)))
    assert TeamRole.objects.get(member=nora).role == role


@pytest.mark.parametrize("who", ["teacher", "guest", "coordinator", "stranger", "district of another school's"])
def test_nobody_else_invites(place: Place, who: str) -> None:
    by = {
        "teacher": lambda: make.make_teacher(place.room),
        "guest": lambda: make.make_teammate(place.team, "Guido", "guest"),
        "coordinator": lambda: make.make_coordinator(place.school),
        "stranger": lambda: make.make_member("Stella"),
        "district of another school's": lambda: make.make_coordinator(
            make.make_year("Another school").school, "Una", "administrator"
        ),
    }[who]()
    with pytest.raises(Denied):
        place.invited(by=by)


def test_the_district_invites_to_any_school(place: Place) -> None:
    dita = make.make_member("Dita")
    DistrictRole.objects.create(member=dita)
    nora = arrive(token_of(place.invited(by=dita, school_role="administrator")))
    assert nora.school_roles.get().role == "administrator"


WRONG: dict[str, tuple[Any, str]] = {
    "nothing": (lambda p, o: {"team_role": ""}, "school_role"),
    "a team without a role": (lambda p, o: {"team": p.team}, "team_role"),
    "a role without a team": (lambda p, o: {"school_role": "coordinator", "team_role": "lead"}, "team"),
    "a role there is none of": (lambda p, o: {"school_role": "district administrator"}, "school_role"),
    "a school's role in a team": (lambda p, o: {"team": p.team, "team_role": "administrator"}, "school_role"),
    "another school's team": (lambda p, o: {"team": o.team, "team_role": "guest"}, "team"),
    "another school's classroom": (lambda p, o: {"classroom": o}, "team"),
    "another team's classroom": (
        lambda p, o: {"team": p.team, "team_role": "teacher", "classroom": p.other_room},
        "classroom",
    ),
}


@pytest.mark.parametrize("what", WRONG)
def test_what_does_not_hold_together_is_refused_at_its_field(place: Place, what: str) -> None:
    other = make.make_classroom(make.make_year("Another school"))
    offer, field = WRONG[what]
    with pytest.raises(RuleBroken) as refused:
        place.invited(**offer(place, other))
    assert refused.value.field == field
    assert not Invitation.objects.exists()


def test_one_open_invitation_an_address(place: Place) -> None:
    place.invited()
    with pytest.raises(RuleBroken, match="open invitation") as refused:
        place.invited("Nora@School.example", school_role="coordinator")
    assert refused.value.field == "email"
    assert len(mail.outbox) == Invitation.objects.count() == 1


def test_somebody_who_has_it_all_is_not_invited_to_it(place: Place) -> None:
    make.make_teacher(place.room, "Nora")
    with pytest.raises(RuleBroken, match="Nora has all of this"):
        place.invited(classroom=place.room, team=place.team, team_role="teacher")


def test_whether_another_school_knows_an_address_is_not_told(place: Place) -> None:
    nora = make.make_teacher(make.make_classroom(make.make_year("Another school")), "Nora")
    Member.objects.filter(pk=nora.pk).update(is_active=False)
    assert place.invited().link


def test_a_team_retired_in_the_meantime_lets_nobody_in(place: Place) -> None:
    token = token_of(place.invited())
    retire_team(place.team)
    with pytest.raises(Worthless):
        arrive(token)


def test_a_classroom_they_taught_before_is_theirs_again_from_today(place: Place, monkeypatch: Any) -> None:
    nora = make.make_teacher(place.room, "Nora")
    ClassTeacher.objects.update(last_day=dt.date(2026, 9, 11))
    monkeypatch.setattr("teamroom.dates.models.School.today", lambda self: dt.date(2026, 10, 1))
    accept(token_of(place.invited(classroom=place.room)), member=nora)
    assert [row.first_day for row in ClassTeacher.objects.order_by("pk")] == [None, dt.date(2026, 10, 1)]


@pytest.mark.parametrize("how", ["taken out of the team", "made a teacher"])
def test_who_no_longer_leads_leaves_no_way_back_in(place: Place, how: str) -> None:
    token = token_of(place.invited("lena.again@school.example", by=place.lead))
    if how == "taken out of the team":
        assert take_team_role(place.lead, place.team) == 1
    else:
        give_team_role(place.lead, place.team, "teacher")
    with pytest.raises(Worthless):
        arrive(token)


def test_an_administrator_who_still_leads_keeps_what_they_sent_to_their_team(place: Place) -> None:
    make.make_coordinator(place.school, "Una", "administrator")
    TeamRole.objects.create(member=place.administrator, team=place.team, role="lead")
    kept = token_of(place.invited())
    gone = token_of(place.invited("other@school.example", school_role="administrator"))
    assert take_school_role(place.administrator, place.school, "administrator") == 1
    invitation_of(kept)
    with pytest.raises(Worthless):
        invitation_of(gone)


def test_an_offer_of_nothing_is_none() -> None:
    assert Offer() == Offer(school_role="", team=None, team_role="", classroom=None)


def test_inviting_is_all_or_nothing(place: Place, settings: Any) -> None:
    settings.EMAIL_BACKEND = "tests.members.letting_in.Away"
    with pytest.raises(OSError, match="no post"):
        invite(
            by=place.administrator,
            school=place.school,
            email="nora@school.example",
            offer=Offer(school_role="coordinator"),
            address_of=address,
        )
    assert not Invitation.objects.exists()
