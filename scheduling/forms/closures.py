"""Closures: one by hand, holidays by ticks, lines pasted, and the entries of a calendar."""

from collections.abc import Collection, Sequence
from typing import Any

from django import forms
from django.core import signing

from scheduling.calendar_reading.apart import LARGEST_FILE
from scheduling.calendar_reading.ics import Entry
from scheduling.calendar_reading.plain import entry_from, plain_entry
from scheduling.calendar_reading.spans import LONGEST_NAME
from scheduling.forms.year_setup import SealedForm
from scheduling.selectors.closures import CLOSE, MOST_SHOWN, NOTHING
from teamroom.common.forms import EditForm
from teamroom.dates.forms import DayInput, day_field
from teamroom.dates.models import DayKind, SchoolYear

LONGEST_PASTE = 100_000
KEPT_FOR = 24 * 60 * 60
"""Seconds that the preview of a calendar may wait for a yes."""
SALT = "entries of a calendar"
MEBIBYTE = 1024 * 1024


class ClosureForm(SealedForm):
    """A closure's dates and name; without a last day it is one day."""

    name = forms.CharField(
        label="Name",
        max_length=LONGEST_NAME,
        help_text="As the calendar shows it, such as Spring break.",
        error_messages={"required": "Name the closure, as in Spring break."},
    )
    first_day = day_field("First day closed", "Give the first day without pupils.")
    last_day = forms.DateField(
        label="Last day closed",
        required=False,
        widget=DayInput(),
        help_text="Leave it empty for one day.",
        error_messages={"invalid": "Write a date, as in 2026-09-07."},
    )

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or {}
        first, last = found.get("first_day"), found.get("last_day")
        if first and last and last < first:
            self.add_error("last_day", f"The last day comes after the first: choose one from {first:%d %b %Y} on.")
        found["last_day"] = last or first
        return found


class TicksForm(SealedForm):
    """Which of the offered lines are to be closed."""

    lines = forms.MultipleChoiceField(
        error_messages={"required": "Tick at least one.", "invalid_choice": "Tick only what is offered here."}
    )

    def __init__(self, *args: Any, offered: Collection[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["lines"]
        assert isinstance(field, forms.MultipleChoiceField)  # noqa: S101 - for types
        field.choices = [(value, value) for value in offered]

    @property
    def ticked(self) -> set[str]:
        return set(self.data.getlist("lines"))  # type: ignore[attr-defined]  # what a request sends has lists


class PasteForm(EditForm):
    """Lines out of a spreadsheet or a letter."""

    text = forms.CharField(
        label="Dates and names, one closure a line",
        strip=False,
        max_length=LONGEST_PASTE,
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false"}),
        error_messages={
            "required": "Paste the lines first.",
            "max_length": "That is too much at once: paste the closures of one year.",
        },
    )


class CalendarFileForm(EditForm):
    """A calendar file of one's own computer."""

    file = forms.FileField(
        label="Calendar file (.ics)",
        widget=forms.FileInput(attrs={"accept": ".ics,text/calendar"}),
        help_text=f"As a calendar program or the district’s site exports it; at most {LARGEST_FILE // MEBIBYTE} MiB.",
        error_messages={"required": "Choose the file.", "empty": "The file is empty. Choose another."},
    )

    def clean_file(self) -> Any:
        file = self.cleaned_data["file"]
        if file.size > LARGEST_FILE:
            raise forms.ValidationError(
                f"The file is larger than {LARGEST_FILE // MEBIBYTE} MiB: "
                "ask for a calendar of holidays and school days alone."
            )
        return file


class EntriesForm(SealedForm):
    """What each entry of a calendar is to do: nothing, close its days, or give them a kind."""

    entries = forms.CharField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, read: Sequence[Entry], kinds: Sequence[DayKind], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.read = list(read)
        self.kinds = {str(kind.pk): kind for kind in kinds}
        choices = [(value, value) for value in (NOTHING, CLOSE, *self.kinds)]
        for place in range(len(self.read)):
            self.fields[field_of(place)] = forms.ChoiceField(
                choices=choices,
                required=False,
                error_messages={"invalid_choice": "Choose what this entry does."},
            )

    def chosen(self, place: int) -> str:
        """What an entry is to do, as sent; nothing where nothing was said."""
        return str(self.cleaned_data.get(field_of(place)) or NOTHING)


def field_of(place: int) -> str:
    return f"do-{place}"


def sealed_entries(year: SchoolYear, entries: Sequence[Entry]) -> str:
    """Entries as a form carries them: signed, so that nothing needs to be kept until they come back."""
    return signing.dumps([year.pk, [plain_entry(entry) for entry in entries]], salt=SALT, compress=True)


def entries_sent(year: SchoolYear, sent: str) -> list[Entry] | None:
    """The entries that a form carried; None for what was not signed here, for this year, within a day."""
    try:
        of, plain = signing.loads(sent, salt=SALT, max_age=KEPT_FOR)
        return [entry_from(one) for one in plain[:MOST_SHOWN]] if of == year.pk else None
    except (signing.BadSignature, ValueError, TypeError):
        return None
