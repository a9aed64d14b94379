"""What forms share: times of day, and refusals by services that land on the field they are about."""

from collections.abc import Callable
from typing import Any, TypeVar

from django import forms

from teamroom.common.clock import minutes_of, written_clock
from teamroom.common.errors import RuleBroken, Stale

Done = TypeVar("Done")


class ClockField(forms.CharField):
    """A time of day as a browser's time field writes it; minutes since midnight to the code."""

    def __init__(self, *, label: str, missing: str) -> None:
        super().__init__(label=label, max_length=8, error_messages={"required": missing})
        self.widget = forms.TimeInput(attrs={"type": "time", "step": "60"})

    def clean(self, value: Any) -> int:
        written: str = super().clean(value)
        try:
            return minutes_of(written[:5])
        except ValueError as fault:
            raise forms.ValidationError("Write a time of day, as in 09:05.") from fault

    def prepare_value(self, value: Any) -> Any:
        return written_clock(value) if isinstance(value, int) else value


class EditForm(forms.Form):
    """What the forms of an edit share: refusals by services land on fields, and staleness is known."""

    stale = False

    @property
    def faults(self) -> list[str]:
        """Every refusal as a sentence, in the order of the fields."""
        return [str(fault) for faults in self.errors.values() for fault in faults]

    def refuse(self, broken: RuleBroken) -> None:
        """Show a service's refusal at the field it names, or above the form."""
        self.stale = isinstance(broken, Stale)
        self.add_error(broken.field if broken.field in self.fields else None, broken.message)


def attempt(form: EditForm, deed: Callable[[], Done]) -> Done | None:
    """Do the deed if the form holds; a refusal lands on the form, and nothing comes back."""
    if not form.is_valid():
        return None
    try:
        return deed()
    except RuleBroken as broken:
        form.refuse(broken)
        return None
