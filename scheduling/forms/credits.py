"""Credits in forms: rows of an activity and its minutes, as typed, so that a refusal loses nothing."""

from collections.abc import Sequence
from dataclasses import dataclass

from django import forms

from teamroom.common.forms import EditForm

CREDIT_ROWS = 3


@dataclass(frozen=True)
class CreditRow:
    """One row of the credits as typed, so that it can be shown again."""

    activity: str
    minutes: str


class CreditsForm(EditForm):
    """A form with rows of credits. `activities`, by id and name, are to be set when it is made."""

    credits = forms.Field(required=False, label="Credits")
    activities: Sequence[tuple[int, str]] = ()

    @property
    def credit_rows(self) -> list[CreditRow]:
        """The rows as typed, or those it starts with, with empty ones to fill."""
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
        names = {str(pk): name for pk, name in self.activities}
        found = []
        for row in self._typed():
            if row.activity not in names:
                raise forms.ValidationError(f"Say which activity gets the {row.minutes} minutes.")
            short = row.minutes.isdecimal() and len(row.minutes) <= 4
            if not short or not 0 < int(row.minutes) <= 24 * 60:
                raise forms.ValidationError(f"Say how many whole minutes {names[row.activity]} gets, or leave it out.")
            found.append((int(row.activity), int(row.minutes)))
        return tuple(found)
