"""Forms of a week's history: which part of it, what to go back to, and why something was changed."""

import datetime as dt
from collections.abc import Iterable
from typing import Any

from django import forms

from scheduling.selectors.history import Asked
from scheduling.services.block_writing import LONGEST_WHY
from teamroom.common.forms import EditForm
from teamroom.dates.forms import day_field

NEVER_A_PUPIL = "For your colleagues. Never the name of a pupil."
LARGEST = 2**31 - 1


class HistoryForm(forms.Form):
    """Whose changes, of which block, before which: each may be left open."""

    by = forms.TypedChoiceField(label="Who", required=False, coerce=int, empty_value=None)
    block = forms.IntegerField(required=False, min_value=1, max_value=LARGEST, widget=forms.HiddenInput)
    before = forms.IntegerField(required=False, min_value=1, max_value=LARGEST, widget=forms.HiddenInput)

    def __init__(self, data: Any, *, people: Iterable[tuple[int, str]]) -> None:
        super().__init__(data)
        self.fields["by"].choices = [("", "Everybody"), *people]  # type: ignore[attr-defined]  # a choice field

    @property
    def asked(self) -> Asked:
        """The part asked for; what was written wrongly asks for nothing in particular."""
        self.is_valid()
        told = self.cleaned_data
        return Asked(block=told.get("block"), by=told.get("by"), before=told.get("before"))


class MomentForm(EditForm):
    """A date whose evening's week is meant."""

    on = day_field("Put back as it was at the end of", "Give the date.")

    def clean_on(self) -> dt.date:
        date: dt.date = self.cleaned_data["on"]
        if date.year > 9000:
            raise forms.ValidationError("Give a date of this school year.")
        return date


class RestoreForm(EditForm):
    """Putting a week back: to which revision, seen beside which, and why."""

    revision = forms.IntegerField(min_value=1, max_value=LARGEST, widget=forms.HiddenInput)
    seen = forms.IntegerField(min_value=1, max_value=LARGEST, widget=forms.HiddenInput)
    reason = forms.CharField(
        required=False,
        label="Why (if you like)",
        max_length=LONGEST_WHY,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=NEVER_A_PUPIL,
    )


class ReasonForm(EditForm):
    """Why a change was made."""

    reason = forms.CharField(
        required=False,
        label="Why",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=NEVER_A_PUPIL,
    )
