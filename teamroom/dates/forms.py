"""Form fields about the school year."""

from collections.abc import Collection
from typing import Any

from django import forms

from teamroom.dates.grades import LONGEST, NotUnderstood, parsed_grades


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
