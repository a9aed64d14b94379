"""Who may reach people, invitations, roles and schools."""

from tests.access_rows.world import MEMBERS, Addresses, Rows, World
from tests.factories import make_teammate
from tests.members.letting_in import invited_to, token_of

# In the order of PEOPLE.
READ_PEOPLE = (403, 200, 403, 403, 403, 200, 200, 200, 404, 302)
INVITE = (403, 200, 403, 403, 403, 403, 200, 200, 404, 302)
INVITE_SENT = (403, 422, 403, 403, 403, 403, 422, 422, 404, 302)
MANAGE = (403, 403, 403, 403, 403, 403, 200, 200, 404, 302)
MANAGE_SENT = (403, 403, 403, 403, 403, 403, 422, 422, 404, 302)
MANAGE_DONE = (403, 403, 403, 403, 403, 403, 302, 302, 404, 302)
# An invitation into the lead's own team.
INVITATION_DONE = (403, 302, 403, 403, 403, 403, 302, 302, 404, 302)
INVITATION_SHOWN = (403, 200, 403, 403, 403, 403, 200, 200, 404, 302)

ROWS: Rows = {
    ("members:people", "GET"): READ_PEOPLE,
    ("members:person", "GET"): READ_PEOPLE,
    ("members:invite", "GET"): INVITE,
    ("members:invite", "POST"): INVITE_SENT,
    ("members:invitation-renew", "POST"): INVITATION_SHOWN,
    ("members:invitation-revoke", "POST"): INVITATION_DONE,
    ("members:school-role-give", "POST"): MANAGE_SENT,
    ("members:school-role-take", "POST"): MANAGE_SENT,
    ("members:team-role-give", "POST"): INVITE_SENT,
    ("members:team-role-take", "POST"): INVITE_SENT,
    ("members:person-close", "GET"): MANAGE,
    ("members:person-close", "POST"): MANAGE_DONE,
    ("members:person-reopen", "POST"): MANAGE_DONE,
    # Whoever is signed in is none of those it is for; nobody is asked to come in.
    ("members:invitation", "GET"): (*(403,) * 9, 200),
    ("members:invitation", "POST"): (*(403,) * 9, 422),
    ("members:roles", "GET"): MEMBERS,
}

ADDRESSES: Addresses = {
    "members:people": ("year",),
    "members:invite": ("year",),
    "members:person": ("year", "person"),
    "members:invitation-renew": ("year", "invitation"),
    "members:invitation-revoke": ("year", "invitation"),
    "members:school-role-give": ("year", "person"),
    "members:school-role-take": ("year", "person"),
    "members:team-role-give": ("year", "person"),
    "members:team-role-take": ("year", "person"),
    "members:person-close": ("year", "person"),
    "members:person-reopen": ("year", "person"),
    "members:invitation": ("token",),
}


def prepare(world: World) -> None:
    """One more person of the team, and one who is invited to it."""
    world.ids["person"] = make_teammate(world.classroom.team, "Perry").pk
    made = invited_to(world.classroom.team, world.people["lead"])
    world.ids |= {"invitation": made.invitation.pk, "token": token_of(made)}
