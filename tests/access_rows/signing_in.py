"""Who may reach the pages outside any school year."""

from tests.access_rows.world import MEMBERS, OPEN, Addresses, Rows

ROWS: Rows = {
    ("home", "GET"): MEMBERS,
    ("health", "GET"): OPEN,
    ("members:sign-in", "GET"): (*(302,) * 9, 200),
    ("members:sign-out", "POST"): (302,) * 10,
}

ADDRESSES: Addresses = {}
