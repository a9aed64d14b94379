"""Who may found a school, and set a year up."""

from teamroom.members.services.one_use import new_secret
from tests.access_rows.world import SET_UP, SET_UP_DONE, SET_UP_SENT, Addresses, Rows, World

# Who may found schools; nobody else need know of the page.
FOUND = (*(404,) * 7, 200, 404, 302)
FOUND_SENT = (*(404,) * 7, 422, 404, 302)
# There is a school already: they are told so where schools are begun.
FOUND_DONE = (*(404,) * 7, 302, 404, 302)

ROWS: Rows = {
    # Once there is anybody, the first administrator's link opens for nobody.
    ("first", "GET"): (404,) * 10,
    ("first", "POST"): (404,) * 10,
    ("begin", "GET"): FOUND,
    ("begin", "POST"): FOUND_SENT,
    ("begin-demo", "POST"): FOUND_DONE,
    ("begin-file", "GET"): FOUND,
    ("begin-file", "POST"): FOUND_SENT,
    ("year-file", "GET"): SET_UP,
    ("year-file", "POST"): SET_UP_SENT,
    ("year-download", "GET"): SET_UP,
    ("next-year", "GET"): SET_UP,
    ("next-year", "POST"): SET_UP_SENT,
    # Without a file that waits in one's own session there is nothing to replace.
    ("replace-year", "GET"): (302,) * 10,
    ("replace-year", "POST"): (302,) * 10,
    ("setup", "GET"): SET_UP,
    ("setup-end", "POST"): SET_UP_DONE,
    ("setup-again", "POST"): SET_UP_DONE,
}

ADDRESSES: Addresses = {
    "first": ("first link",),
    "year-file": ("year",),
    "year-download": ("year",),
    "next-year": ("year",),
    "setup": ("year",),
    "setup-end": ("year",),
    "setup-again": ("year",),
}


def prepare(world: World) -> None:
    """A secret of the right form, which opens nothing as there are people."""
    world.ids["first link"], _ = new_secret()
