"""Addresses of weeks from and to spreadsheets."""

from django.urls import path

from scheduling.views import sheet_weeks

urlpatterns = [
    path("classrooms/<int:classroom>/from-spreadsheet/", sheet_weeks.send, name="week-from-sheet"),
    path("classrooms/<int:classroom>/from-spreadsheet/<int:sent>/", sheet_weeks.look, name="week-sheet-look"),
    path("weeks/<int:week>/as/", sheet_weeks.as_sheet, name="week-as-sheet"),
    path("weeks/<int:week>/as/<str:shape>.<str:kind>", sheet_weeks.take, name="week-take-sheet"),
]
