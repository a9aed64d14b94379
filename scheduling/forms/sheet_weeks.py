"""Forms of a week out of a spreadsheet: the file, and what is guessed, named and dated before it is a draft."""

from collections.abc import Mapping
from hashlib import blake2b
from typing import Any

from django import forms

from scheduling.forms.drafts import DraftNameField
from scheduling.forms.weeks import StartsForm
from scheduling.selectors.sheet_weeks import SheetLook, overlaps_of
from scheduling.services.block_writing import Placing
from scheduling.services.sheet_weeks import SheetWeek
from scheduling.spreadsheets.names import Match, folded
from scheduling.spreadsheets.reading import LARGEST_FILE, MEBIBYTE
from teamroom.common.errors import RuleBroken, Stale
from teamroom.common.forms import EditForm

GUESS = "guess-"
LEAVE_OUT = "leave"
SAYS_IT_ITSELF = ("shape", "column-")
"""Guesses of which what is chosen says all that there is to say."""


class SpreadsheetForm(EditForm):
    """A spreadsheet of one's own computer."""

    file = forms.FileField(
        label="Spreadsheet (.xlsx or .csv)",
        widget=forms.FileInput(attrs={"accept": ".xlsx,.xlsm,.csv,.tsv,.txt"}),
        help_text=f"One classroom’s week, at most {LARGEST_FILE // MEBIBYTE} MiB. Never with a pupil’s name in it.",
        error_messages={"required": "Choose the file.", "empty": "The file is empty. Choose another."},
    )


class SheetWeekForm(StartsForm):
    """The guesses as somebody would have them, what each written name means, and the draft's date and name."""

    name = DraftNameField()
    seen = forms.CharField(max_length=64, widget=forms.HiddenInput, error_messages={"required": "Look at it first."})

    def __init__(self, *args: Any, look: SheetLook, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.look = look
        self.fields["starts"].label = "For the weeks from"
        self.fields["starts"].help_text = "The draft counts for nothing until somebody puts it in effect."
        for guess in look.choices:
            self.fields[f"{GUESS}{guess.key}"] = forms.ChoiceField(
                label=guess.label,
                required=False,
                choices=guess.options,
                initial=guess.value,
                help_text="" if guess.key.startswith(SAYS_IT_ITSELF) else guess.said,
            )
        activities = sorted((activity.name, str(activity.pk)) for activity in look.words.activities.values())
        choices = [
            ("", "Choose\N{HORIZONTAL ELLIPSIS}"),
            (LEAVE_OUT, "Leave it out"),
            *((pk, name) for name, pk in activities),
        ]
        for match in look.matches:
            self.fields[field_of(match)] = forms.ChoiceField(
                label=match.written,
                choices=choices,
                initial=self._suggested(match),
                error_messages={
                    "required": f"Say what “{match.written[:60]}” is, or leave it out.",
                    "invalid_choice": "Choose one of this year’s activities.",
                },
            )

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or {}
        if found.get("seen") and found["seen"] != self.look.seal:
            self.refuse(Stale("The choices above were changed: look at what they make of the sheet now."))
        elif self.look.faults:
            self.refuse(
                RuleBroken("Some cells cannot be read. Mend them in the file and send it again; nothing was made.")
            )
        elif overlaps_of(self.look, self.left_out):
            self.refuse(RuleBroken("Some blocks take the same time. Mend them in the file and send it again."))
        return found

    @property
    def names(self) -> list[tuple[Match, forms.BoundField]]:
        return [(match, self[field_of(match)]) for match in self.look.matches]

    @property
    def guessed(self) -> list[forms.BoundField]:
        return [self[f"{GUESS}{guess.key}"] for guess in self.look.choices]

    @property
    def meanings(self) -> Mapping[str, str | None]:
        """Keys of activities by folded name as the form shows them; '' for left out, None where nothing is chosen."""
        keys = {str(activity.pk): activity.key for activity in self.look.words.activities.values()}
        return {match.folded: {LEAVE_OUT: "", **keys}.get(str(field.value())) for match, field in self.names}

    @property
    def left_out(self) -> set[str]:
        return {name for name, key in self.meanings.items() if key == ""}

    def week(self) -> SheetWeek:
        """What the sheet makes of the week, once all that is asked is answered."""
        told = {match.folded: self.cleaned_data[field_of(match)] for match in self.look.matches}
        placings = [
            Placing(day, int(kind), entry.start, entry.end, int(told[folded(entry.activity)]), why=entry.why)
            for entry in self.look.entries
            if told[folded(entry.activity)] != LEAVE_OUT
            for day, _, kind in [entry.day.rpartition(":")]
        ]
        meant = {match.folded: self.meanings[match.folded] or "" for match in self.look.matches if match.how != "exact"}
        return SheetWeek(placings, meant)

    def _suggested(self, match: Match) -> str:
        if match.key is None:
            return ""
        activity = self.look.words.by_key.get(match.key)
        return str(activity.pk) if activity else LEAVE_OUT


def field_of(match: Match) -> str:
    """The field of a written name: the same whatever else the sheet is found to hold."""
    return f"name-{blake2b(match.folded.encode(), digest_size=6).hexdigest()}"


def choices_sent(sent: Mapping[str, Any]) -> dict[str, str]:
    """What was chosen instead of guesses, by the guesses' keys."""
    return {name.removeprefix(GUESS): str(sent[name]) for name in sent if name.startswith(GUESS)}
