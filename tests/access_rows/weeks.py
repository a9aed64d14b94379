"""Who may reach weeks, blocks and readings."""

from tests.access_rows.world import DONE, EDIT, READ, SENT, Addresses, Rows

ROWS: Rows = {
    ("scheduling:week", "GET"): READ,
    ("scheduling:week-begin", "POST"): SENT,
    ("scheduling:week-start", "GET"): EDIT,
    ("scheduling:week-start", "POST"): SENT,
    ("scheduling:week-list", "GET"): READ,
    ("scheduling:week-date", "GET"): EDIT,
    ("scheduling:week-date", "POST"): SENT,
    ("scheduling:week-drop", "GET"): EDIT,
    ("scheduling:week-drop", "POST"): SENT,
    ("scheduling:week-undo", "POST"): DONE,
    ("scheduling:block-add", "GET"): EDIT,
    ("scheduling:block-add", "POST"): SENT,
    ("scheduling:block-edit", "GET"): READ,
    ("scheduling:block-edit", "POST"): SENT,
    ("scheduling:block-move", "GET"): EDIT,
    ("scheduling:block-move", "POST"): SENT,
    ("scheduling:block-split", "GET"): EDIT,
    ("scheduling:block-split", "POST"): SENT,
    ("scheduling:block-remove", "GET"): EDIT,
    ("scheduling:block-remove", "POST"): SENT,
    ("scheduling:reading-trace", "GET"): READ,
}

ADDRESSES: Addresses = {
    "scheduling:week": ("classroom",),
    "scheduling:week-begin": ("classroom",),
    "scheduling:week-start": ("week",),
    "scheduling:week-list": ("week",),
    "scheduling:week-date": ("week",),
    "scheduling:week-drop": ("week",),
    "scheduling:week-undo": ("week",),
    "scheduling:block-add": ("week",),
    "scheduling:block-edit": ("block",),
    "scheduling:block-move": ("block",),
    "scheduling:block-split": ("block",),
    "scheduling:block-remove": ("block",),
    "scheduling:reading-trace": ("classroom", "rule", "part"),
}
