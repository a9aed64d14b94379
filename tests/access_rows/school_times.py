"""Who may reach a year's activities and bell schedules."""

from scheduling.models import Activity, BellSchedule
from tests.access_rows.world import READ_YEAR, SET_UP, SET_UP_DONE, SET_UP_SENT, Addresses, Rows, World

ROWS: Rows = {
    ("scheduling:activities", "GET"): READ_YEAR,
    ("scheduling:activity", "GET"): READ_YEAR,
    ("scheduling:activity-add", "GET"): SET_UP,
    ("scheduling:activity-add", "POST"): SET_UP_SENT,
    ("scheduling:activity-usual", "GET"): SET_UP,
    ("scheduling:activity-usual", "POST"): SET_UP_SENT,
    ("scheduling:activity-rename", "GET"): SET_UP,
    ("scheduling:activity-rename", "POST"): SET_UP_SENT,
    ("scheduling:activity-frees", "POST"): SET_UP_DONE,
    ("scheduling:activity-remove", "POST"): SET_UP_DONE,
    ("scheduling:bells", "GET"): READ_YEAR,
    ("scheduling:bell-set", "GET"): SET_UP,
    ("scheduling:bell-set", "POST"): SET_UP_SENT,
    ("scheduling:bell-remove", "GET"): SET_UP,
    ("scheduling:bell-remove", "POST"): SET_UP_DONE,
}

ADDRESSES: Addresses = {
    "scheduling:activities": ("year",),
    "scheduling:activity": ("year", "activity"),
    "scheduling:activity-add": ("year",),
    "scheduling:activity-usual": ("year",),
    "scheduling:activity-rename": ("year", "activity"),
    "scheduling:activity-frees": ("year", "activity"),
    "scheduling:activity-remove": ("year", "activity"),
    "scheduling:bells": ("year",),
    "scheduling:bell-set": ("year",),
    "scheduling:bell-remove": ("year", "bell"),
}


def prepare(world: World) -> None:
    """An activity that is used nowhere, and a schedule."""
    world.ids["activity"] = Activity.objects.create(year_id=world.ids["year"], key="choir", name="Choir").pk
    world.ids["bell"] = BellSchedule.objects.get(year=world.ids["year"], kind__key="minimum").pk
