"""Beginning a school: on the screens, or from a school file."""

import datetime as dt
from typing import Any

from django import forms
from django.conf import settings

from teamroom.common.forms import EditForm
from teamroom.common.uploads import LARGEST_UPLOAD, MEBIBYTE
from teamroom.dates.forms import SchoolFields, YearFields

TOO_LARGE = f"The file is larger than {LARGEST_UPLOAD // MEBIBYTE} MiB: no school file is. Choose another."


class BeginForm(YearFields, SchoolFields):
    """A school and its first year."""


def first_guess(today: dt.date) -> dict[str, Any]:
    """What a new school's form begins with: this server's time zone, and the year that is on or comes next.

    That American schools begin in late summer and end around June is common practice, no source.
    """
    begins = today.year if today.month >= 4 else today.year - 1
    return {"time_zone": settings.TIME_ZONE, "year_name": f"{begins}-{(begins + 1) % 100:02d}"}


class SchoolFileForm(EditForm):
    """A school file of one's own computer."""

    file = forms.FileField(
        label="School file",
        widget=forms.FileInput(attrs={"accept": ".json,application/json"}),
        error_messages={"required": "Choose the file.", "empty": "The file is empty. Choose another."},
    )
