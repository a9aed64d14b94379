"""Who may read and who may change a year's dates, kinds of day and closures."""

import datetime as dt

from teamroom.dates.models import Closure, DayKind
from tests.access_rows.world import READ_YEAR, SET_UP, SET_UP_DONE, SET_UP_SENT, Addresses, Rows, World

# What is counted or drawn while somebody types is nothing while nothing is typed.
SET_UP_NOTHING_YET = tuple(204 if status == 200 else status for status in SET_UP)

ROWS: Rows = {
    ("scheduling:year-dates", "GET"): READ_YEAR,
    ("scheduling:year-dates", "POST"): SET_UP_SENT,
    ("scheduling:year-dates-count", "GET"): SET_UP_NOTHING_YET,
    ("scheduling:day-kinds", "GET"): READ_YEAR,
    ("scheduling:day-kind-add", "POST"): SET_UP_SENT,
    ("scheduling:day-kind-rename", "GET"): SET_UP,
    ("scheduling:day-kind-rename", "POST"): SET_UP_SENT,
    ("scheduling:day-kind-remove", "POST"): SET_UP_DONE,
    ("scheduling:standing-days", "POST"): SET_UP_SENT,
    ("scheduling:cycle", "POST"): SET_UP_SENT,
    ("scheduling:cycle-preview", "GET"): SET_UP_NOTHING_YET,
    ("scheduling:closures", "GET"): READ_YEAR,
    ("scheduling:closure-add", "GET"): SET_UP,
    ("scheduling:closure-add", "POST"): SET_UP_SENT,
    ("scheduling:closure-change", "GET"): SET_UP,
    ("scheduling:closure-change", "POST"): SET_UP_SENT,
    ("scheduling:closure-remove", "GET"): SET_UP,
    ("scheduling:closure-remove", "POST"): SET_UP_DONE,
    ("scheduling:closure-take-back", "POST"): SET_UP_DONE,
    ("scheduling:closure-holidays", "GET"): SET_UP,
    ("scheduling:closure-holidays", "POST"): SET_UP_SENT,
    ("scheduling:closure-paste", "GET"): SET_UP,
    ("scheduling:closure-paste", "POST"): SET_UP_SENT,
    ("scheduling:closure-import", "GET"): SET_UP,
    ("scheduling:closure-import", "POST"): SET_UP_SENT,
}

ADDRESSES: Addresses = {
    "scheduling:year-dates": ("year",),
    "scheduling:year-dates-count": ("year",),
    "scheduling:day-kinds": ("year",),
    "scheduling:day-kind-add": ("year",),
    "scheduling:day-kind-rename": ("year", "day kind"),
    "scheduling:day-kind-remove": ("year", "day kind"),
    "scheduling:standing-days": ("year",),
    "scheduling:cycle": ("year",),
    "scheduling:cycle-preview": ("year",),
    "scheduling:closures": ("year",),
    "scheduling:closure-add": ("year",),
    "scheduling:closure-change": ("year", "closure"),
    "scheduling:closure-remove": ("year", "closure"),
    "scheduling:closure-holidays": ("year",),
    "scheduling:closure-paste": ("year",),
    "scheduling:closure-take-back": ("year",),
    "scheduling:closure-import": ("year",),
}


def prepare(world: World) -> None:
    """A kind of day that nothing uses, and a closure."""
    year = world.ids["year"]
    world.ids["day kind"] = DayKind.objects.create(year_id=year, key="late", name="Late start").pk
    day = dt.date(2026, 9, 25)
    world.ids["closure"] = Closure.objects.create(year_id=year, first_day=day, last_day=day, name="Fair day").pk
