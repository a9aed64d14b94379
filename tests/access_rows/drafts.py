"""Who may prepare, put in effect and compare the versions of a week."""

from tests.access_rows.world import DONE, EDIT, READ, SENT, Addresses, Rows

ROWS: Rows = {
    ("scheduling:week-put-in-effect", "GET"): EDIT,
    ("scheduling:week-put-in-effect", "POST"): SENT,
    ("scheduling:week-take-out", "GET"): EDIT,
    ("scheduling:week-take-out", "POST"): DONE,
    ("scheduling:week-compare", "GET"): READ,
}

ADDRESSES: Addresses = {
    "scheduling:week-put-in-effect": ("week",),
    "scheduling:week-take-out": ("week",),
    "scheduling:week-compare": ("week", "week"),
}
