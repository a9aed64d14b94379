"""Forms of a fitting: taking a week over, drafting one, mending one, and deciding about what was proposed."""

from collections.abc import Sequence
from typing import Any

from django import forms

from scheduling.forms.drafts import DraftNameField
from scheduling.forms.weeks import StartsForm
from teamroom.common.forms import ClockField, EditForm

Choices = Sequence[tuple[str, str]]
NOON = 12 * 60
LEAST_STRETCH = 10


class TakeOverForm(StartsForm):
    """Which week, all of it or only some days or activities, and from when."""

    week = forms.IntegerField(widget=forms.HiddenInput, error_messages={"required": "Choose a week to start from."})
    days = forms.MultipleChoiceField(required=False, label="Only these days", widget=forms.CheckboxSelectMultiple)
    activities = forms.MultipleChoiceField(
        required=False, label="Only these activities", widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, days: Choices, activities: Choices, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["starts"].label = "Meant from"
        self.fields["days"].choices = list(days)  # type: ignore[attr-defined]  # a choice field
        self.fields["activities"].choices = list(activities)  # type: ignore[attr-defined]  # as above

    @property
    def keep(self) -> list[str]:
        return [*self.cleaned_data["days"], *self.cleaned_data["activities"]]


class MendForm(StartsForm):
    """From which date the mended week is meant."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["starts"].label = "Mended from"
        self.fields[
            "starts"
        ].help_text = "What was short before that date stays so; the weeks from then on make up for it."


class DraftForm(StartsForm):
    """What a week from nothing is to hold, and what is wished of it."""

    activities = forms.MultipleChoiceField(
        label="What it is to hold",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one activity."},
        help_text="Those that a rule asks for are ticked. What the school fixes, as lunch, is there anyhow.",
    )
    early = forms.MultipleChoiceField(required=False, label="Early in the day", widget=forms.CheckboxSelectMultiple)
    by = ClockField(label="Early means over by", missing="Say by when.")
    limited = forms.MultipleChoiceField(
        required=False, label="Not long at a stretch", widget=forms.CheckboxSelectMultiple
    )
    at_most = forms.IntegerField(
        label="At most so many minutes at a stretch",
        min_value=LEAST_STRETCH,
        max_value=240,
        error_messages={
            "required": "Say how many minutes.",
            "invalid": "Write the minutes as a number, as in 60.",
            "min_value": "Give ten minutes or more.",
            "max_value": "Give 240 minutes or fewer.",
        },
    )
    together = forms.MultipleChoiceField(
        required=False, label="At the same times as in another class", widget=forms.CheckboxSelectMultiple
    )
    beside = forms.TypedChoiceField(required=False, label="That class", coerce=int, empty_value=None)

    def __init__(self, *args: Any, activities: Choices, rooms: Choices, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["starts"].label = "Meant from"
        for name in ("activities", "early", "limited", "together"):
            self.fields[name].choices = list(activities)  # type: ignore[attr-defined]  # a choice field
        self.fields["beside"].choices = [("", "Choose"), *rooms]  # type: ignore[attr-defined]  # as above
        self.initial.setdefault("by", NOON)
        self.initial.setdefault("at_most", 60)

    def clean(self) -> dict[str, Any]:
        told = super().clean() or self.cleaned_data
        if told.get("together") and not told.get("beside"):
            self.add_error("beside", "Choose the class whose times it is to have.")
        return told

    @property
    def asked(self) -> dict[str, Any]:
        told = self.cleaned_data
        return {
            "activities": told["activities"],
            "ends_by": dict.fromkeys(told["early"], told["by"]),
            "at_a_stretch": dict.fromkeys(told["limited"], told["at_most"]),
            "together": told["together"],
        }


class DecideForm(EditForm):
    """What becomes of each change of a proposal: it may still move, stays so, or goes back."""

    CHOICES: Choices = (("", "may still move"), ("stay", "stays so"), ("back", "as it was"))

    def __init__(self, *args: Any, fields: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.keys = dict(fields)
        for name in self.keys:
            self.fields[name] = forms.ChoiceField(required=False, choices=self.CHOICES)

    @property
    def decided(self) -> dict[str, str]:
        return {key: self.cleaned_data[name] for name, key in self.keys.items() if self.cleaned_data.get(name)}


class TakeForm(EditForm):
    """Making a draft of a way."""

    name = DraftNameField()
