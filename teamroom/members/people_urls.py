"""Addresses of people, roles and invitations."""

from django.urls import path

from teamroom.members.views import coming_in, invitations, people, roles

PERSON = "years/<int:year>/people/<int:person>/"
INVITATION = "years/<int:year>/people/invitations/<int:invitation>/"

people_patterns = [
    path("years/<int:year>/people/", people.people_of_year, name="people"),
    path("years/<int:year>/people/invite/", invitations.invite, name="invite"),
    path(f"{INVITATION}renew/", invitations.renew, name="invitation-renew"),
    path(f"{INVITATION}take-back/", invitations.revoke, name="invitation-revoke"),
    path(PERSON, people.person, name="person"),
    path(f"{PERSON}school-role/give/", people.give_school_role, name="school-role-give"),
    path(f"{PERSON}school-role/take/", people.take_school_role, name="school-role-take"),
    path(f"{PERSON}team-role/give/", people.give_team_role, name="team-role-give"),
    path(f"{PERSON}team-role/take/", people.take_team_role, name="team-role-take"),
    path(f"{PERSON}account/close/", people.close, name="person-close"),
    path(f"{PERSON}account/open/", people.reopen, name="person-reopen"),
    path("invitation/<str:token>/", coming_in.invitation, name="invitation"),
    path("roles/", roles.roles, name="roles"),
]
