"""Form fields about the school year."""

from collections.abc import Collection
from typing import Any

from django import forms

from teamroom.common.forms import EditForm
from teamroom.dates.grades import LONGEST, NotUnderstood, parsed_grades
from teamroom.dates.places import state_choices, zone_choices


class DayInput(forms.DateInput):
    """A browser's own date field."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


def day_field(label: str, missing: str) -> forms.DateField:
    """A date to be typed or picked; `missing` says what to do without one."""
    return forms.DateField(
        label=label,
        widget=DayInput(),
        error_messages={"required": missing, "invalid": "Write a date, as in 2026-09-07."},
    )


class GradesField(forms.CharField):
    """Grades as people type them; a list to the code, in their order. `also` are the school's own names."""

    also: Collection[str] = ()

    def __init__(self, *, label: str, missing: str, help_text: str = "") -> None:
        super().__init__(label=label, help_text=help_text, max_length=300, error_messages={"required": missing})
        self.missing = missing
        self.widget.attrs |= {"autocomplete": "off", "size": LONGEST}

    def clean(self, value: Any) -> list[str]:
        if isinstance(value, list):
            value = ", ".join(value)
        try:
            grades = parsed_grades(super().clean(value), also=self.also)
        except NotUnderstood as fault:
            raise forms.ValidationError(str(fault)) from fault
        if not grades:
            raise forms.ValidationError(self.missing, code="required")
        return grades

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(value) if isinstance(value, list) else value


class ListedField(forms.ChoiceField):
    """A choice from a list that is worked out when the form is made."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.error_messages["invalid_choice"] = "Choose from the list."


class SchoolFields(EditForm):
    """A school's name, state and time zone. Its page asks the browser for the zone where `asks_browser` says so."""

    asks_browser = True

    name = forms.CharField(
        label="Name of the school", max_length=200, error_messages={"required": "Give the school’s name."}
    )
    place = ListedField(
        label="State or territory",
        required=False,
        choices=state_choices,
        help_text="For its holidays and its published rules.",
    )
    time_zone = ListedField(
        label="Time zone", choices=zone_choices, error_messages={"required": "Choose the school’s time zone."}
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.asks_browser:
            # A browser knows better where it stands than a server's setting: zone.js asks it.
            self.fields["time_zone"].widget.attrs["data-zone"] = ""


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
