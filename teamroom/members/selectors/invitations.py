"""Reads of invitations: how each stands, and what it gives."""

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal
from zoneinfo import ZoneInfo

from django.db.models import Q
from django.utils import timezone

from teamroom.dates.models import School
from teamroom.members.models import Invitation, Member

State = Literal["open", "expired", "taken back", "accepted"]
STILL_SHOWN = dt.timedelta(days=14)
"""How long an invitation that was taken back stays in the list, where it can be renewed."""


def state_of(invitation: Invitation, now: dt.datetime) -> State:
    if invitation.accepted_at is not None:
        return "accepted"
    if invitation.revoked_at is not None:
        return "taken back"
    return "open" if now < invitation.expires_at else "expired"


def given(invitation: Invitation) -> list[str]:
    """What an invitation gives, a phrase for each: `coordinator of the school`, `lead of Grade 4`."""
    told = [f"{invitation.school_role} of the school"] if invitation.school_role else []
    told += [f"{invitation.team_role} of {invitation.team}"] if invitation.team is not None else []
    return told + ([f"{invitation.classroom} as their own classroom"] if invitation.classroom is not None else [])


@dataclass(frozen=True)
class InvitationLine:
    """An invitation that nobody has accepted, as the page of people lists it. Dates are the school's."""

    invitation: Invitation
    state: State
    gives: list[str]
    ends: dt.date


def invitation_lines(school: School, *, teams: Collection[int] | None = None, words: str = "") -> list[InvitationLine]:
    """A school's invitations that nobody has accepted; with `teams` those into these teams alone."""
    now = timezone.now()
    found = Invitation.objects.filter(school=school, accepted_at=None)
    found = found.filter(Q(revoked_at=None) | Q(revoked_at__gt=now - STILL_SHOWN))
    if teams is not None:
        found = found.filter(team__in=teams, school_role="")
    for word in words.split():
        found = found.filter(Q(name__icontains=word) | Q(email__icontains=word))
    rows = found.select_related("team", "classroom", "invited_by").order_by("-invited_at", "-pk")
    return [_line(row, school, now) for row in rows]


def date_at(school: School, moment: dt.datetime) -> dt.date:
    """A moment's date by the school's own clock."""
    return timezone.localdate(moment, timezone=ZoneInfo(school.time_zone))


def _line(row: Invitation, school: School, now: dt.datetime) -> InvitationLine:
    state = state_of(row, now)
    ended = row.revoked_at if row.revoked_at is not None else row.expires_at
    return InvitationLine(row, state, given(row), date_at(school, ended))


def member_of(email: str) -> Member | None:
    """Who signs in with this address, whatever the case of its letters."""
    return next((m for m in Member.objects.filter(email__iexact=email) if same_address(m.email, email)), None)


def same_address(one: str, other: str) -> bool:
    """Whether two addresses are one. Only letters' case is set aside: look-alikes of other alphabets are others."""
    return one.strip().lower() == other.strip().lower()
