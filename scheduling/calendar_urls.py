"""Addresses of the calendar: a year's, its dates and changes, deeds under way, and closings of many schools."""

from django.urls import path, register_converter

from scheduling.views import calendar, calendar_work, schools_close
from teamroom.common.iso_dates import IsoDateConverter

register_converter(IsoDateConverter, "iso_date")

urlpatterns = [
    path("years/<int:year>/calendar/", calendar.calendar, name="calendar"),
    path("years/<int:year>/calendar/<iso_date:date>/", calendar.day, name="calendar-day"),
    path("years/<int:year>/calendar/<iso_date:date>/close/", calendar.close, name="calendar-close"),
    path("years/<int:year>/calendar/<iso_date:date>/reopen/", calendar.reopen, name="calendar-reopen"),
    path("years/<int:year>/calendar/<iso_date:date>/closure/", calendar.closure, name="calendar-closure"),
    path("years/<int:year>/calendar/<iso_date:date>/kind/", calendar.kind, name="calendar-kind"),
    path("years/<int:year>/calendar/<iso_date:date>/changes/add/", calendar.add_change, name="calendar-change-add"),
    path("years/<int:year>/calendar/changes/<int:change>/", calendar.change, name="calendar-change"),
    path("years/<int:year>/calendar/changes/<int:change>/lift/", calendar.lift, name="calendar-change-lift"),
    # Deeds: previews and what came of them
    path("years/<int:year>/calendar/work/<int:work>/", calendar_work.work, name="calendar-work"),
    path("years/<int:year>/calendar/work/<int:work>/yes/", calendar_work.yes, name="calendar-work-yes"),
    path("years/<int:year>/calendar/work/<int:work>/again/", calendar_work.again, name="calendar-work-again"),
    path("years/<int:year>/calendar/work/<int:work>/undo/", calendar_work.undo, name="calendar-work-undo"),
    # All schools at once
    path("schools/close/", schools_close.close, name="schools-close"),
    path("schools/close/<uuid:batch>/", schools_close.batch, name="schools-close-batch"),
    path("schools/close/<uuid:batch>/yes/", schools_close.yes, name="schools-close-yes"),
    path("schools/close/<uuid:batch>/undo/", schools_close.undo, name="schools-close-undo"),
]
