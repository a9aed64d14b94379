"""Letting people in: an invitation is for one address, works once, and expires."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

from django.core.mail import send_mail
from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.utils import timezone

from teamroom.common.errors import Denied, RuleBroken
from teamroom.common.wording import full_date
from teamroom.dates.models import School
from teamroom.dates.services import hold_year
from teamroom.members.models import Classroom, Invitation, Member, SchoolRole, Team, TeamRole
from teamroom.members.roles import SCHOOL_ROLES, TEAM_ROLES, Role
from teamroom.members.selectors.invitations import date_at, given, member_of, same_address, state_of
from teamroom.members.selectors.people import ever_of_school
from teamroom.members.services.accounts import open_account
from teamroom.members.services.one_use import hash_of, new_secret, with_proof, without_proof
from teamroom.members.services.passphrases import check_passphrase
from teamroom.members.services.people import give_school_role, give_team_role
from teamroom.members.services.teaching import put_on
from teamroom.members.services.withdrawing import may_give

USUAL_DAYS, MOST_DAYS = 14, 60
AddressOf = Callable[[str], str]
"""The whole address of the page that a secret opens."""


class Worthless(RuleBroken):
    """The secret opens nothing: it is none, or it was used, has expired or was taken back."""

    def __init__(self) -> None:
        super().__init__("This invitation no longer lets anybody in. Ask whoever sent it for a fresh one.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What an invitation gives, all of it in one school. A classroom brings its team."""

    school_role: str = ""
    team: Team | None = None
    team_role: str = ""
    classroom: Classroom | None = None


@dataclass(frozen=True, slots=True)
class Made:
    """An invitation with its link, which nobody can be told again."""

    invitation: Invitation
    link: str


@transaction.atomic
def invite(
    *,
    by: Member,
    school: School,
    email: str,
    offer: Offer,
    address_of: AddressOf,
    name: str = "",
    days: int = USUAL_DAYS,
) -> Made:
    """Let an address in to what is offered, by a letter and by the link that comes back.

    Denied where `by` may not give that much; RuleBroken where the offer does not hold together,
    where they have it all already, or where the address has an open invitation.
    """
    offer = _whole(offer, school)
    if not may_give(by, school, school_role=offer.school_role, team=offer.team, classroom=offer.classroom):
        raise Denied("invite to this")
    _check_worth_sending(email, school, offer)
    now = timezone.now()
    # One that has run out makes room for a new one.
    Invitation.objects.filter(
        school=school, email__iexact=email, accepted_at=None, revoked_at=None, expires_at__lte=now
    ).update(revoked_at=now)
    fresh = Invitation(
        school=school,
        email=email,
        name=name,
        school_role=offer.school_role,
        team=offer.team,
        team_role=offer.team_role,
        classroom=offer.classroom,
        invited_by=by,
    )
    return _sent(fresh, days, address_of)


@transaction.atomic
def renew(invitation: Invitation, *, by: Member, address_of: AddressOf, days: int = USUAL_DAYS) -> Made:
    """A fresh link in place of the old, which is worthless from now on; also after one was taken back."""
    held = _held(invitation)
    offer = _whole(
        Offer(school_role=held.school_role, team=held.team, team_role=held.team_role, classroom=held.classroom),
        held.school,
    )
    if not may_give(by, held.school, school_role=offer.school_role, team=offer.team, classroom=offer.classroom):
        raise Denied("invite to this")
    held.invited_by, held.revoked_at = by, None
    return _sent(held, days, address_of)


@transaction.atomic
def revoke(invitation: Invitation) -> None:
    """Take an invitation back: its link is worthless. Twice is as once; RuleBroken once it was accepted."""
    held = _held(invitation)
    if held.revoked_at is None:
        held.revoked_at = timezone.now()
        held.save(update_fields=["revoked_at"])


def invitation_of(token: str) -> Invitation:
    """The open invitation that a secret opens, with its school, team and classroom; else Worthless."""
    found = Invitation.objects.select_related("school", "team", "classroom", "invited_by")
    return _open(found.filter(token_hash=hash_of(without_proof(token)[0])).first())


@transaction.atomic
def accept(token: str, *, member: Member) -> Invitation:
    """Give somebody who is signed in what they were invited to. Once only, and only to whom it is for."""
    invitation = _held_open(token)
    if not same_address(member.email, invitation.email):
        raise RuleBroken("This invitation is for another address than the one you are signed in with.")
    _give(invitation, member)
    return invitation


@transaction.atomic
def come_in(token: str, *, name: str, passphrase: str) -> Member:
    """A new account for the invited address, with what the invitation gives.

    The letter's link proves that the address is theirs; the one handed over does not, or whoever
    invites could open an account in somebody else's name and have it taken for theirs.
    RuleBroken where the address has an account already, or for a weak passphrase.
    """
    invitation = _held_open(token)
    if member_of(invitation.email) is not None:
        raise RuleBroken("This address has an account already. Sign in with it, then accept the invitation.")
    check_passphrase(passphrase, email=invitation.email, name=name)
    by_letter = without_proof(token)[1]
    member = open_account(email=invitation.email, name=name, passphrase=passphrase, verified=by_letter)
    _give(invitation, member)
    return member


def _whole(offer: Offer, school: School) -> Offer:
    """The offer with the team that a classroom brings; RuleBroken where its pieces do not fit together."""
    team, room = offer.team or (offer.classroom.team if offer.classroom else None), offer.classroom
    role = offer.team_role or ("teacher" if room is not None and offer.team is None else "")
    if not (offer.school_role or team):
        raise RuleBroken("Say what the invitation gives: a role in the school or in a team.", field="school_role")
    if offer.school_role not in ("", *SCHOOL_ROLES) or role not in ("", *TEAM_ROLES):
        raise RuleBroken("Choose a role from the list.", field="school_role")
    if (team is None) != (not role):
        raise RuleBroken(
            "Choose the team that the role is in." if team is None else f"Choose what they are to {team}.",
            field="team" if team is None else "team_role",
        )
    if any(place is not None and place.year.school_id != school.pk for place in (team, room)):
        raise RuleBroken("Choose a team and a classroom of this school.", field="team")
    if room is not None and team is not None and room.team_id != team.pk:
        raise RuleBroken(f"{room} is a classroom of {room.team}, not of {team}.", field="classroom")
    if team is not None and team.retired:
        raise RuleBroken(f"{team} is retired and takes nobody in. Choose another team.", field="team")
    if room is not None and room.retired:
        raise RuleBroken(f"{room} is retired. Choose another classroom.", field="classroom")
    return Offer(school_role=offer.school_role, team=team, team_role=role, classroom=room)


def _check_worth_sending(email: str, school: School, offer: Offer) -> None:
    member = member_of(email)
    # Whether an address has an account in another school is nobody's business here.
    if member is None or not ever_of_school(school.pk).filter(pk=member.pk).exists():
        return
    if not member.is_active:
        raise RuleBroken(
            f"The account of {member} is closed. An administrator can open it again on the page of people.",
            field="email",
        )
    if _has_all(member, school, offer):
        raise RuleBroken(f"{member} has all of this already.", field="email")


def _has_all(member: Member, school: School, offer: Offer) -> bool:
    has = []
    if offer.school_role:
        has.append(SchoolRole.objects.filter(member=member, school=school, role=offer.school_role).exists())
    if offer.team is not None:
        has.append(TeamRole.objects.filter(member=member, team=offer.team, role=offer.team_role).exists())
    if offer.classroom is not None:
        has.append(offer.classroom.class_teachers.filter(member=member, last_day=None).exists())
    return all(has)


def _sent(invitation: Invitation, days: int, address_of: AddressOf) -> Made:
    token, invitation.token_hash = new_secret()
    invitation.invited_at = timezone.now()
    invitation.expires_at = invitation.invited_at + dt.timedelta(days=min(max(days, 1), MOST_DAYS))
    try:
        with transaction.atomic():
            invitation.save()
    except IntegrityError as taken:
        raise RuleBroken(
            f"{invitation.email} has an open invitation to {invitation.school} already: renew that one, or take it "
            "back first. If you do not see it, ask the school's administrator.",
            field="email",
        ) from taken
    subject, text = letter_of(invitation, address_of(with_proof(token)))
    send_mail(subject, text, None, [invitation.email])
    return Made(invitation, address_of(token))


def letter_of(invitation: Invitation, link: str) -> tuple[str, str]:
    """The subject and the words of the letter that carries a link."""
    school = " ".join(invitation.school.name.split())
    sender = f"{invitation.invited_by} invites you" if invitation.invited_by else "You are invited"
    ends = full_date(date_at(invitation.school, invitation.expires_at))
    text = (
        f"{sender} to {school} on Teamroom, where the teachers of a grade keep their week and its minutes together.\n\n"
        f"You come in as {' and '.join(given(invitation))}.\n\n"
        f"Open this link to begin. It is for {invitation.email} alone, works once, and until {ends}:\n\n{link}\n\n"
        "If you did not expect this letter, you need not do anything.\n"
    )
    return f"Your invitation to {school}", text


def _held_open(token: str) -> Invitation:
    """The open invitation that a secret opens, for this transaction alone; else Worthless.

    Of two who come at once the second waits here, and then finds it used. The year of its team is
    held before it: whoever changes the year has that first.
    """
    kept = hash_of(without_proof(token)[0])
    hold_year(Invitation.objects.filter(token_hash=kept, team__isnull=False).values("team__year"))
    return _open(_locked().filter(token_hash=kept).first())


def _locked() -> QuerySet[Invitation]:
    return Invitation.objects.select_for_update(of=("self",)).select_related(
        "school", "team__year__school", "classroom__team", "classroom__year__school", "invited_by"
    )


def _held(invitation: Invitation) -> Invitation:
    held = _locked().get(pk=invitation.pk)
    if held.accepted_at is not None:
        raise RuleBroken("This invitation was accepted. What it gave can be taken away on the page of people.")
    return held


def _open(invitation: Invitation | None) -> Invitation:
    if invitation is None or state_of(invitation, timezone.now()) != "open" or not _gives_still(invitation):
        raise Worthless()
    return invitation


def _gives_still(invitation: Invitation) -> bool:
    return bool(invitation.school_role) or (invitation.team is not None and not invitation.team.retired)


def _give(invitation: Invitation, member: Member) -> None:
    """Everything it gives, and nothing of what they have is lost by it."""
    invitation.accepted_at, invitation.accepted_by = timezone.now(), member
    invitation.save(update_fields=["accepted_at", "accepted_by"])
    for role in (role for role in SCHOOL_ROLES if role == invitation.school_role):
        give_school_role(member, invitation.school, role)
    team = invitation.team
    if team is None or team.retired:
        return
    role = _higher(invitation.team_role, TeamRole.objects.filter(member=member, team=team).first())
    give_team_role(member, team, role)
    if invitation.classroom is not None and not invitation.classroom.retired:
        _give_classroom(member, invitation.classroom)


def _give_classroom(member: Member, room: Classroom) -> None:
    """All year, or from today where they taught it before; not at all where they teach it now or will."""
    today = room.year.school.today()
    taught = list(room.class_teachers.filter(member=member))
    if not taught:
        put_on(room, member)
    elif all(row.last_day is not None and row.last_day < today for row in taught) and today <= room.year.last_day:
        put_on(room, member, first_day=max(today, room.year.first_day))


def _higher(offered: str, has: TeamRole | None) -> Role:
    """Of what is offered and what they are to the team already what lets them do more."""
    return min((role for role in TEAM_ROLES if role == offered or (has and role == has.role)), key=TEAM_ROLES.index)
