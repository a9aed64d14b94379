"""Who may reach specialists: the administrator gives posts; a week is for whose it is, and for who reads everything."""

from scheduling.models import SpecialistPost
from teamroom.dates.models import SchoolYear
from tests.access_rows.world import READ_YEAR, SET_UP, SET_UP_DONE, SET_UP_SENT, Addresses, Rows, World

ROWS: Rows = {
    ("scheduling:specialists", "GET"): READ_YEAR,
    ("scheduling:specialist-give", "GET"): SET_UP,
    ("scheduling:specialist-give", "POST"): SET_UP_SENT,
    ("scheduling:specialist-change", "GET"): SET_UP,
    ("scheduling:specialist-change", "POST"): SET_UP_SENT,
    ("scheduling:specialist-end", "GET"): SET_UP,
    ("scheduling:specialist-end", "POST"): SET_UP_DONE,
    # The guest is the specialist.
    ("scheduling:specialist-week", "GET"): (403, 403, 403, 200, 403, 200, 200, 200, 404, 302),
}

ADDRESSES: Addresses = {
    "scheduling:specialists": ("year",),
    "scheduling:specialist-give": ("year",),
    "scheduling:specialist-change": ("post",),
    "scheduling:specialist-end": ("post",),
    "scheduling:specialist-week": ("year", "specialist"),
}


def prepare(world: World) -> None:
    """The guest teaches art to all the school."""
    year = SchoolYear.objects.get(pk=world.ids["year"])
    guest = world.people["guest"]
    post = SpecialistPost.objects.create(year=year, member=guest, activity=year.activities.get(key="art"))
    world.ids |= {"post": post.pk, "specialist": guest.pk}
