"""Who may reach teams and classrooms: the year reads the sheet, the administrator and the team's lead change it."""

from teamroom.members.models import ClassTeacher
from tests.access_rows.world import READ_YEAR, SET_UP, SET_UP_SENT, Addresses, Rows, World
from tests.factories import make_classroom

# The team's lead and the administrator; others of the year may know that it is there.
MANAGE = (403, 200, 403, 403, 403, 403, 200, 403, 404, 302)
MANAGE_SENT = (403, 422, 403, 403, 403, 403, 422, 403, 404, 302)
MANAGE_DONE = (403, 302, 403, 403, 403, 403, 302, 403, 404, 302)

ROWS: Rows = {
    ("members:teams", "GET"): READ_YEAR,
    ("members:team-add", "GET"): SET_UP,
    ("members:team-add", "POST"): SET_UP_SENT,
    ("members:team-change", "GET"): MANAGE,
    ("members:team-change", "POST"): MANAGE_SENT,
    ("members:team-retire", "GET"): MANAGE,
    ("members:team-retire", "POST"): MANAGE_DONE,
    ("members:team-bring-back", "GET"): MANAGE,
    ("members:team-bring-back", "POST"): MANAGE_DONE,
    ("members:class-teachers", "GET"): MANAGE,
    ("members:class-teacher-add", "GET"): MANAGE,
    ("members:class-teacher-add", "POST"): MANAGE_SENT,
    ("members:class-teacher-dates", "GET"): MANAGE,
    ("members:class-teacher-dates", "POST"): MANAGE_DONE,
    ("members:class-teacher-take-off", "GET"): MANAGE,
    ("members:class-teacher-take-off", "POST"): MANAGE_DONE,
    ("members:class-hand-over", "GET"): MANAGE,
    ("members:class-hand-over", "POST"): MANAGE_SENT,
    ("scheduling:classroom-add", "GET"): MANAGE,
    ("scheduling:classroom-add", "POST"): MANAGE_SENT,
    ("scheduling:classroom-change", "GET"): MANAGE,
    ("scheduling:classroom-change", "POST"): MANAGE_SENT,
    ("scheduling:classroom-retire", "POST"): MANAGE_DONE,
    ("scheduling:classroom-bring-back", "POST"): MANAGE_DONE,
    ("scheduling:classroom-remove", "GET"): MANAGE,
    ("scheduling:classroom-remove", "POST"): MANAGE_DONE,
    ("scheduling:cap-suggestions", "GET"): READ_YEAR,
}

ADDRESSES: Addresses = {
    "members:teams": ("year",),
    "members:team-add": ("year",),
    "members:team-change": ("team",),
    "members:team-retire": ("team",),
    "members:team-bring-back": ("team",),
    "members:class-teachers": ("classroom",),
    "members:class-teacher-add": ("classroom",),
    "members:class-teacher-dates": ("teaching",),
    "members:class-teacher-take-off": ("teaching",),
    "members:class-hand-over": ("teaching",),
    "scheduling:classroom-add": ("team",),
    "scheduling:classroom-change": ("classroom",),
    "scheduling:classroom-retire": ("classroom",),
    "scheduling:classroom-bring-back": ("classroom",),
    "scheduling:classroom-remove": ("spare classroom",),
    "scheduling:cap-suggestions": ("year",),
}


def prepare(world: World) -> None:
    """The classroom's own teacher as a row, and a classroom of the same team without a week."""
    world.ids["teaching"] = ClassTeacher.objects.get(classroom=world.classroom).pk
    world.ids["spare classroom"] = make_classroom(world.classroom.year, "spare").pk
