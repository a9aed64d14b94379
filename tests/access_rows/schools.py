"""Who may reach the district's page, the pages of a school, and the classrooms of a year."""

from tests.access_rows.world import READ_YEAR, Addresses, Rows, World
from tests.members.letting_in import invited_to

# The district alone: for everybody else there is no such page.
DISTRICT = (*(404,) * 7, 200, 404, 302)
DISTRICT_SENT = (*(404,) * 7, 422, 404, 302)
# Who manages people in all of a school; a coordinator may look at the school, not do this, and who has no role in the
# school itself knows of no such page.
SCHOOL = (404, 404, 404, 404, 404, 403, 200, 200, 404, 302)
SCHOOL_SENT = (404, 404, 404, 404, 404, 403, 422, 422, 404, 302)
SCHOOL_DONE = (404, 404, 404, 404, 404, 403, 302, 302, 404, 302)
BEGIN = (404, 404, 404, 404, 404, 403, 200, 403, 404, 302)
BEGIN_SENT = (404, 404, 404, 404, 404, 403, 422, 403, 404, 302)

ROWS: Rows = {
    ("year", "GET"): READ_YEAR,
    ("schools", "GET"): DISTRICT,
    ("school-found", "GET"): DISTRICT,
    ("school-found", "POST"): DISTRICT_SENT,
    ("school", "GET"): SCHOOL,
    ("year-begin", "GET"): BEGIN,
    ("year-begin", "POST"): BEGIN_SENT,
    ("school-invite", "GET"): SCHOOL,
    ("school-invite", "POST"): SCHOOL_SENT,
    ("school-invitation-renew", "POST"): SCHOOL,
    ("school-invitation-revoke", "POST"): SCHOOL_DONE,
    ("district-give", "POST"): DISTRICT_SENT,
    # The only one of the district: the role stays.
    ("district-take", "POST"): DISTRICT_SENT,
}

ADDRESSES: Addresses = {
    "year": ("year",),
    "school": ("school",),
    "year-begin": ("school",),
    "school-invite": ("school",),
    "school-invitation-renew": ("school", "school invitation"),
    "school-invitation-revoke": ("school", "school invitation"),
    "district-take": ("district person",),
}


def prepare(world: World) -> None:
    """Somebody who is invited to the school as a whole."""
    made = invited_to(
        world.classroom.team, world.people["administrator"], "sam@school.example", school_role="coordinator"
    )
    world.ids["school invitation"] = made.invitation.pk
    world.ids["district person"] = world.people["district"].pk
