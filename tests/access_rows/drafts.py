"""Who may prepare and put in effect the versions of a week, and hold it beside another or against a grade's rules."""

from tests.access_rows.world import DONE, EDIT, READ, SENT, Addresses, Rows, World
from tests.factories import make_classroom, make_week

# Two weeks of two grades: only who is of the whole school may read both.
BOTH = (404, 404, 404, 404, 404, 200, 200, 200, 404, 302)

ROWS: Rows = {
    ("scheduling:week-put-in-effect", "GET"): EDIT,
    ("scheduling:week-put-in-effect", "POST"): SENT,
    ("scheduling:week-take-out", "GET"): EDIT,
    ("scheduling:week-take-out", "POST"): DONE,
    ("scheduling:week-beside", "GET"): READ,
    ("scheduling:week-compare", "GET"): BOTH,
    ("scheduling:week-against", "GET"): READ,
}

ADDRESSES: Addresses = {
    "scheduling:week-put-in-effect": ("week",),
    "scheduling:week-take-out": ("week",),
    "scheduling:week-beside": ("week",),
    "scheduling:week-compare": ("week", "beside"),
    "scheduling:week-against": ("week", "grade"),
}


def prepare(world: World) -> None:
    """A week of another grade, to stand beside, and that grade."""
    week = make_week(make_classroom(world.classroom.year, "beside", ("5",)))
    world.ids |= {"beside": week.pk, "grade": "5"}
