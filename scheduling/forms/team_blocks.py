"""The form by which a team comes to hold a block together."""

import re
from collections.abc import Sequence
from typing import Any

from django import forms

from scheduling.forms.weeks import ReasonForm
from scheduling.selectors.team_blocks import WayIn

TOKEN = re.compile(r"(\d{1,9})-\d{1,9}-[\d.a-z]{1,24}")


class WaysField(forms.MultipleChoiceField):
    """Classrooms, each by the way in that was shown for it. One that is another now is for the service to tell."""

    def valid_value(self, value: str) -> bool:
        return TOKEN.fullmatch(value) is not None


class ShareForm(ReasonForm):
    """Which classrooms are to hold a block too, as was seen what it does there."""

    classrooms = WaysField(
        label="Classrooms that are to hold it too",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Choose a classroom that is to hold the block too.",
            "invalid_choice": "Choose among the classrooms shown.",
        },
    )
    revision = forms.IntegerField(widget=forms.HiddenInput)

    def offer(self, ways: Sequence[WayIn]) -> None:
        """Show the classrooms that it can come into, all of them chosen unless something was sent."""
        choices = [(way.token, f"{way.classroom}: {way.said}") for way in ways if not way.obstacle]
        self.fields["classrooms"].choices = choices  # type: ignore[attr-defined]  # a choice field
        self.initial["classrooms"] = [token for token, _ in choices]

    @property
    def rooms(self) -> set[int]:
        """The ids of the classrooms chosen."""
        return {int(token.split("-")[0]) for token in self.cleaned_data["classrooms"]}

    def told(self) -> dict[str, Any]:
        return {"seen": self.cleaned_data["classrooms"], "reason": self.cleaned_data["reason"]}
