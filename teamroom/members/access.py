"""Fetching is permitting: what a member may see is found, anything else is as if it were not there."""

from dataclasses import dataclass

from django.http import Http404

from teamroom.common.errors import Denied
from teamroom.dates.models import School, SchoolYear
from teamroom.members.models import Invitation, Member, Team, TeamRole
from teamroom.members.roles import Deed, Role, may
from teamroom.members.selectors.people import ever_of_school, ever_of_teams
from teamroom.members.selectors.roles_held import roles_in_district, roles_in_school, roles_in_team, roles_in_year


@dataclass(frozen=True)
class YearPlace:
    """A school year as one member stands to it. Pages take from it what to show and the way round."""

    year: SchoolYear
    roles: frozenset[Role]

    def may(self, deed: Deed) -> bool:
        return may(self.roles, deed)

    @property
    def may_set_up(self) -> bool:
        return self.may("set up year")

    @property
    def may_manage_team(self) -> bool:
        return self.may("manage team")

    @property
    def may_read_people(self) -> bool:
        return self.may("read people")

    @property
    def may_manage_people(self) -> bool:
        return self.may("manage people")

    @property
    def may_read_trail(self) -> bool:
        return self.may("read trail")

    @property
    def of_district(self) -> bool:
        return "district administrator" in self.roles


@dataclass(frozen=True)
class PeoplePlace(YearPlace):
    """A school year's people as one member may see them: all of the school's, or those of the teams they lead."""

    led: frozenset[int] = frozenset()

    @property
    def whole_school(self) -> bool:
        return may(self.roles - {"lead"}, "read people")

    @property
    def may_invite(self) -> bool:
        return self.may_manage_people or bool(self.led)

    def may_change_team(self, team: Team) -> bool:
        return self.may_manage_people or team.pk in self.led


def require(roles: set[Role] | frozenset[Role], deed: Deed) -> None:
    """404 for who has no part in it, 403 for who may look but not do this."""
    if not roles:
        raise Http404
    if not may(roles, deed):
        raise Denied(deed)


def year_for(member: Member, pk: int, deed: Deed = "read year") -> YearPlace:
    """A school year for somebody who may do a deed in it: 404 for strangers, 403 for the rest.

    With "manage team" it is for the lists of teams; whether this very team is theirs, `team_for` asks.
    """
    year = SchoolYear.objects.select_related("school").filter(pk=pk).first()
    if year is None:
        raise Http404
    roles = roles_in_year(member, year)
    require(roles, deed)
    return YearPlace(year, frozenset(roles))


def year_place(member: Member, year: SchoolYear) -> YearPlace:
    """A year that was reached some other way, as the member stands to it."""
    return YearPlace(year, frozenset(roles_in_year(member, year)))


def school_for(member: Member, pk: int, deed: Deed) -> School:
    """A school for somebody who may do a deed in all of it."""
    school = School.objects.filter(pk=pk).first()
    if school is None:
        raise Http404
    require(roles_in_school(member, school), deed)
    return school


def team_for(member: Member, pk: int, deed: Deed) -> Team:
    """A team for somebody who may do a deed in it; a member of another team of its year gets 403."""
    team = Team.objects.select_related("year__school").filter(pk=pk).first()
    if team is None or not roles_in_year(member, team.year):
        raise Http404
    if not may(roles_in_team(member, team), deed):
        raise Denied(deed)
    return team


def people_for(member: Member, pk: int, deed: Deed = "read people") -> PeoplePlace:
    """The people of a year for somebody who may do a deed with them."""
    place = year_for(member, pk, deed)
    led: frozenset[int] = frozenset()
    if "lead" in place.roles:
        mine = TeamRole.objects.filter(team__year=place.year, member=member, role="lead")
        led = frozenset(mine.values_list("team", flat=True))
    return PeoplePlace(place.year, place.roles, led)


def person_for(member: Member, year: int, pk: int, deed: Deed = "read people") -> tuple[PeoplePlace, Member]:
    """Somebody who has, or once had, a part in what the reader may see of the school; 404 for anybody else."""
    place = people_for(member, year, deed)
    people = ever_of_school(place.year.school_id) if place.whole_school else ever_of_teams(place.led)
    person = people.filter(pk=pk).first()
    if person is None:
        raise Http404
    return place, person


def invitation_for(member: Member, pk: int, *, school: School) -> Invitation:
    """A school's invitation for somebody who may take it back or renew it: who may give all that it gives."""
    found = Invitation.objects.select_related("school", "team__year__school", "classroom")
    invitation = found.filter(pk=pk, school=school).first()
    if invitation is None:
        raise Http404
    roles = roles_in_school(member, invitation.school)
    if may(roles, "manage people"):
        return invitation
    team = invitation.team if not invitation.school_role else None
    if team is not None and may(roles_in_team(member, team), "manage team"):
        return invitation
    if may(roles, "read people"):
        raise Denied("manage people")
    raise Http404


def require_in_district(member: Member, deed: Deed) -> None:
    """404 for everybody who is not of the district: nobody else need know of the page."""
    if not may(roles_in_district(member), deed):
        raise Http404
