"""Beginning a school: on the screens, or from a school file."""

import datetime as dt
from typing import Any

from django import forms
from django.conf import settings

from teamroom.common.forms import EditForm
from teamroom.common.uploads import LARGEST_UPLOAD, MEBIBYTE
from teamroom.dates.forms import day_field
from teamroom.dates.places import state_choices, zone_choices

TOO_LARGE = f"The file is larger than {LARGEST_UPLOAD // MEBIBYTE} MiB: no school file is. Choose another."


class YearFields(EditForm):
    """A year's name and its two ends."""

    year_name = forms.CharField(
        label="The year’s name",
        max_length=80,
        error_messages={"required": "Name the year, as in 2026-27."},
        help_text="As in 2026-27.",
    )
    first_day = day_field("First day of school", "Give the first day with pupils.")
    last_day = day_field("Last day of school", "Give the last day with pupils.")


class BeginForm(YearFields):
    """A school and its first year."""

    name = forms.CharField(
        label="Name of the school", max_length=200, error_messages={"required": "Give the school’s name."}
    )
    place = forms.ChoiceField(
        label="State or territory",
        required=False,
        help_text="For its holidays and its published rules.",
    )
    time_zone = forms.ChoiceField(label="Time zone", error_messages={"required": "Choose the school’s time zone."})

    field_order = ["name", "place", "time_zone", "year_name", "first_day", "last_day"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        place, zone = self.fields["place"], self.fields["time_zone"]
        assert isinstance(place, forms.ChoiceField) and isinstance(zone, forms.ChoiceField)  # noqa: S101 - for types
        place.choices, zone.choices = state_choices(), zone_choices()
        # A browser knows better where it stands than a server's setting: zone.js asks it.
        zone.widget.attrs["data-zone"] = ""


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
