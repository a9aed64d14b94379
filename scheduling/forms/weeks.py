"""Forms of the week. Every refusal stands at its field and nothing that was typed is lost."""

import datetime as dt
from collections.abc import Iterable
from typing import Any

from django import forms

from scheduling.forms.credits import CreditsForm
from scheduling.forms.uses import UsesForm
from scheduling.selectors.sheet_columns import all_places
from scheduling.selectors.year_words import YearWords
from scheduling.services.block_writing import Placing
from teamroom.common.errors import RuleBroken
from teamroom.common.forms import ClockField, EditForm
from teamroom.common.wording import full_date


class ReasonForm(EditForm):
    """An edit that may say why it is made, which the history keeps."""

    reason = forms.CharField(
        required=False,
        label="Why this change",
        help_text="For the history of the week, if you like. Never the name of a pupil.",
    )


class PlaceForm(ReasonForm):
    """Where a block is to be: a column (day and kind), a start and an end."""

    place = forms.ChoiceField(label="Day", error_messages={"required": "Choose a day."})
    start = ClockField(label="Start", missing="Give the block a start.")
    end = ClockField(label="End", missing="Give the block an end.")
    revision = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, words: YearWords, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.words = words
        # Enough to check what was sent; `offer` has the words for showing the choice.
        self.offer(all_places(words, []))

    def offer(self, places: Iterable[tuple[str, str]]) -> None:
        """Show the columns to choose from under these labels."""
        self.fields["place"].choices = list(places)  # type: ignore[attr-defined]  # a choice field

    def refuse(self, broken: RuleBroken) -> None:
        """As every form; what a service calls the day is the form's place."""
        field = "place" if broken.field == "day" else broken.field
        broken.field = field
        super().refuse(broken)

    @property
    def where(self) -> list[forms.BoundField]:
        """The fields that stand in one row, whose refusals stand together below it."""
        return [self["place"], self["start"], self["end"]]

    @property
    def column(self) -> tuple[str, int]:
        day, _, kind = self.cleaned_data["place"].rpartition(":")
        return day, int(kind)


class BlockForm(PlaceForm, CreditsForm, UsesForm):
    """A whole block: where it is, what it is, what it credits and needs, and why it sits there."""

    activity = forms.TypedChoiceField(
        label="Activity", coerce=int, error_messages={"required": "Choose what the time is for."}
    )
    why = forms.CharField(
        required=False,
        label="Why here",
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="As in “the aide is free until 10” or “the lab is ours on Tuesdays”: for the colleague who takes "
        "over this week. Never the name of a pupil.",
    )

    def __init__(self, *args: Any, words: YearWords, **kwargs: Any) -> None:
        super().__init__(*args, words=words, **kwargs)
        self.resources = list(words.resources.values())
        self.activities = [(activity.pk, activity.name) for activity in words.activities.values()]
        self.fields["activity"].choices = [("", "Choose\N{HORIZONTAL ELLIPSIS}"), *self.activities]  # type: ignore[attr-defined]  # as above

    @property
    def placing(self) -> Placing:
        day, kind = self.column
        told = self.cleaned_data
        what = told["activity"], told["credits"], told["why"], told["uses"]
        return Placing(day, kind, told["start"], told["end"], *what)


class SplitForm(ReasonForm):
    """Where to split a block."""

    at = ClockField(label="Split at", missing="Say where to split the block.")
    revision = forms.IntegerField(widget=forms.HiddenInput)


class RemoveForm(ReasonForm):
    """Taking a block away: only which state of it was seen."""

    revision = forms.IntegerField(widget=forms.HiddenInput)


class StartsForm(EditForm):
    """From which date a week is in effect."""

    starts = forms.DateField(
        label="In effect from",
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={"required": "Give the date from which it holds.", "invalid": "Write the date as 2026-09-07."},
    )


class FirstWeekForm(StartsForm):
    """From which date a classroom's first week is in effect: the year's first day, unless it says otherwise."""

    def __init__(self, *args: Any, first_day: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("starts", first_day)
        self.fields[
            "starts"
        ].help_text = f"Weeks before it count as not planned. The year begins on {full_date(first_day)}."
