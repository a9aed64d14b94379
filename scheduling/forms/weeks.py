"""Forms of the week. Every refusal stands at its field and nothing that was typed is lost."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms

from scheduling.selectors.sheet_columns import all_places
from scheduling.selectors.year_words import YearWords
from scheduling.services.block_writing import Placing
from teamroom.common.errors import RuleBroken
from teamroom.common.forms import ClockField, EditForm

CREDIT_ROWS = 3


@dataclass(frozen=True)
class CreditRow:
    """One row of the credits as typed, so that it can be shown again."""

    activity: str
    minutes: str


class PlaceForm(EditForm):
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


class BlockForm(PlaceForm):
    """A whole block: where it is, what it is, what it credits, and why it sits there."""

    activity = forms.TypedChoiceField(
        label="Activity", coerce=int, error_messages={"required": "Choose what the time is for."}
    )
    credits = forms.Field(required=False, label="Credits")
    why = forms.CharField(
        required=False,
        label="Why here",
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="For the colleague who takes over this week. Never the name of a pupil.",
    )

    def __init__(self, *args: Any, words: YearWords, **kwargs: Any) -> None:
        super().__init__(*args, words=words, **kwargs)
        self.activities = [(activity.pk, activity.name) for activity in words.activities.values()]
        self.fields["activity"].choices = [("", "Choose\N{HORIZONTAL ELLIPSIS}"), *self.activities]  # type: ignore[attr-defined]  # as above

    @property
    def credit_rows(self) -> list[CreditRow]:
        """The rows as typed, or those of the block, with empty ones to fill."""
        if self.is_bound:
            rows = self._typed()
        else:
            rows = [CreditRow(str(pk), str(minutes)) for pk, minutes in self.initial.get("credits", ())]
        return rows + [CreditRow("", "")] * max(1, CREDIT_ROWS - len(rows))

    def _typed(self) -> list[CreditRow]:
        names, minutes = self._list("credit_activity"), self._list("credit_minutes")
        pairs = zip(names, minutes, strict=False)
        return [CreditRow(name, minute.strip()) for name, minute in pairs if name or minute.strip()]

    def _list(self, name: str) -> Sequence[str]:
        getlist = getattr(self.data, "getlist", None)
        found: Sequence[str] = getlist(name) if getlist else self.data.get(name, [])
        return found

    def clean_credits(self) -> tuple[tuple[int, int], ...]:
        known = {str(pk) for pk, _ in self.activities}
        found = []
        for row in self._typed():
            if row.activity not in known:
                raise forms.ValidationError(f"Say which activity gets the {row.minutes} minutes.")
            if not row.minutes.isdecimal() or not 0 < int(row.minutes) <= 24 * 60:
                name = self.words.activities[int(row.activity)].name
                raise forms.ValidationError(f"Say how many whole minutes {name} gets, or leave it out.")
            found.append((int(row.activity), int(row.minutes)))
        return tuple(found)

    @property
    def placing(self) -> Placing:
        day, kind = self.column
        told = self.cleaned_data
        return Placing(day, kind, told["start"], told["end"], told["activity"], told["credits"], told["why"])


class SplitForm(EditForm):
    """Where to split a block."""

    at = ClockField(label="Split at", missing="Say where to split the block.")
    revision = forms.IntegerField(widget=forms.HiddenInput)


class RemoveForm(EditForm):
    """Taking a block away: only which state of it was seen."""

    revision = forms.IntegerField(widget=forms.HiddenInput)


class StartsForm(EditForm):
    """From which date a week is in effect."""

    starts = forms.DateField(
        label="In effect from",
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={"required": "Give the date from which it holds.", "invalid": "Write the date as 2026-09-07."},
    )


def first_date(first: dt.date, today: dt.date, last: dt.date) -> dt.date:
    """The date to offer for a first week: today inside the year, else the year's first day."""
    return today if first <= today <= last else first
