"""Who may found a school, and set a year up."""

from tests.access_rows.world import SET_UP, SET_UP_DONE, Addresses, Rows

ROWS: Rows = {
    ("setup", "GET"): SET_UP,
    ("setup-end", "POST"): SET_UP_DONE,
    ("setup-again", "POST"): SET_UP_DONE,
}

ADDRESSES: Addresses = {
    "setup": ("year",),
    "setup-end": ("year",),
    "setup-again": ("year",),
}
