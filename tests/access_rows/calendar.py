"""Who may read the calendar, change it, and close schools."""

import datetime as dt

from scheduling.services import calendar, calendar_work, day_changes
from scheduling.services.deeds import Close
from scheduling.services.district_closing import try_out_together
from teamroom.dates.models import SchoolYear
from tests.access_rows.world import READ_YEAR, SET_UP, SET_UP_DONE, SET_UP_SENT, Addresses, Rows, World

DISTRICT = (*(404,) * 7, 200, 404, 302)
DISTRICT_SENT = (*(404,) * 7, 422, 404, 302)
DISTRICT_DONE = (*(404,) * 7, 302, 404, 302)

ROWS: Rows = {
    ("scheduling:calendar", "GET"): READ_YEAR,
    ("scheduling:calendar-day", "GET"): READ_YEAR,
    ("scheduling:calendar-close", "GET"): SET_UP,
    ("scheduling:calendar-close", "POST"): SET_UP_SENT,
    ("scheduling:calendar-reopen", "GET"): SET_UP,
    ("scheduling:calendar-reopen", "POST"): SET_UP_SENT,
    ("scheduling:calendar-closure", "GET"): SET_UP,
    ("scheduling:calendar-closure", "POST"): SET_UP_SENT,
    ("scheduling:calendar-kind", "GET"): SET_UP,
    ("scheduling:calendar-kind", "POST"): SET_UP_DONE,
    ("scheduling:calendar-change-add", "GET"): SET_UP,
    ("scheduling:calendar-change-add", "POST"): SET_UP_SENT,
    ("scheduling:calendar-change", "GET"): SET_UP,
    ("scheduling:calendar-change", "POST"): SET_UP_SENT,
    ("scheduling:calendar-change-lift", "GET"): SET_UP,
    ("scheduling:calendar-change-lift", "POST"): SET_UP_DONE,
    ("scheduling:calendar-work", "GET"): SET_UP,
    ("scheduling:calendar-work-yes", "POST"): SET_UP_DONE,
    ("scheduling:calendar-work-again", "POST"): SET_UP_DONE,
    ("scheduling:calendar-work-undo", "POST"): SET_UP_DONE,
    ("scheduling:schools-close", "GET"): DISTRICT,
    ("scheduling:schools-close", "POST"): DISTRICT_SENT,
    ("scheduling:schools-close-batch", "GET"): DISTRICT,
    ("scheduling:schools-close-yes", "POST"): DISTRICT_DONE,
    ("scheduling:schools-close-undo", "POST"): DISTRICT_DONE,
}

ADDRESSES: Addresses = {
    "scheduling:calendar": ("year",),
    "scheduling:calendar-day": ("year", "calendar_open"),
    "scheduling:calendar-close": ("year", "calendar_open"),
    "scheduling:calendar-reopen": ("year", "calendar_closed"),
    "scheduling:calendar-closure": ("year", "calendar_closed"),
    "scheduling:calendar-kind": ("year", "calendar_open"),
    "scheduling:calendar-change-add": ("year", "calendar_open"),
    "scheduling:calendar-change": ("year", "calendar_change"),
    "scheduling:calendar-change-lift": ("year", "calendar_change"),
    "scheduling:calendar-work": ("year", "calendar_work"),
    "scheduling:calendar-work-yes": ("year", "calendar_work"),
    "scheduling:calendar-work-again": ("year", "calendar_work"),
    "scheduling:calendar-work-undo": ("year", "calendar_work"),
    "scheduling:schools-close-batch": ("calendar_batch",),
    "scheduling:schools-close-yes": ("calendar_batch",),
    "scheduling:schools-close-undo": ("calendar_batch",),
}


def prepare(world: World) -> None:
    """A closed date, a date with a change, a preview, and a batch of one school."""
    year = SchoolYear.objects.get(pk=world.ids["year"])
    open_date, closed, changed = (dt.date(2026, 10, day) for day in (27, 28, 29))
    calendar.close_dates(year, closed, closed, "Storm")
    change, _ = day_changes.place(year, day_changes.Happening(changed, "Assembly", start=540, end=570))
    member = world.people["administrator"]
    storm = Close(open_date, open_date, "Storm")
    preview = calendar_work.try_out(year, storm, member)
    batch = try_out_together([year.school_id], storm, world.people["district"])
    world.ids |= {
        "calendar_open": open_date,
        "calendar_closed": closed,
        "calendar_change": change.pk,
        "calendar_work": preview.pk,
        "calendar_batch": batch,
    }
