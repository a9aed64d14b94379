"""Who may see a year's rules, and who may change them."""

from scheduling.services.rules import retire_rule
from tests.access_rows.world import READ_YEAR, SET_UP, SET_UP_DONE, SET_UP_SENT, Addresses, Rows, World
from tests.factories import make_rule

ROWS: Rows = {
    ("scheduling:rules", "GET"): READ_YEAR,
    ("scheduling:rule-library", "GET"): SET_UP,
    ("scheduling:rule-adopt-preview", "POST"): SET_UP_SENT,
    ("scheduling:rule-adopt", "POST"): SET_UP_SENT,
    ("scheduling:rule-adopt-undo", "POST"): SET_UP_DONE,
    ("scheduling:rule-add", "GET"): SET_UP,
    ("scheduling:rule-add", "POST"): SET_UP_SENT,
    ("scheduling:rule-preview", "POST"): SET_UP_SENT,
    ("scheduling:rule-edit", "GET"): SET_UP,
    ("scheduling:rule-edit", "POST"): SET_UP_SENT,
    ("scheduling:rule-edit-preview", "POST"): SET_UP_SENT,
    ("scheduling:rule-copy", "GET"): SET_UP,
    ("scheduling:rule-retire", "POST"): SET_UP_DONE,
    ("scheduling:rule-bring-back", "POST"): SET_UP_DONE,
}

ADDRESSES: Addresses = {
    "scheduling:rules": ("year",),
    "scheduling:rule-library": ("year",),
    "scheduling:rule-adopt-preview": ("year",),
    "scheduling:rule-adopt": ("year",),
    "scheduling:rule-adopt-undo": ("year",),
    "scheduling:rule-add": ("year",),
    "scheduling:rule-preview": ("year",),
    "scheduling:rule-edit": ("year", "rule"),
    "scheduling:rule-edit-preview": ("year", "rule"),
    "scheduling:rule-copy": ("year", "rule"),
    "scheduling:rule-retire": ("year", "rule"),
    "scheduling:rule-bring-back": ("year", "retired rule"),
}


def prepare(world: World) -> None:
    rule = make_rule(world.classroom.year, "gone", {"pool": {"of": ["art"]}, "at_least": 60})
    world.ids["retired rule"] = rule.pk
    retire_rule(rule)
