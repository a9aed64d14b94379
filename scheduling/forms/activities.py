"""Forms of a year's activities."""

from typing import Any

from django import forms

from teamroom.common.forms import EditForm


class AddForm(EditForm):
    """Names of activities, one on a line, typed or pasted from a sheet."""

    names = forms.CharField(
        label="Activities, one on a line",
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 6}),
        error_messages={"required": "Write at least one activity, each on a line of its own."},
        help_text="A column pasted from a spreadsheet works too. Never the name of a pupil.",
    )

    @property
    def lines(self) -> list[str]:
        """The first filled cell of each line: what is copied out of a sheet has tabs between its cells."""
        rows = (row.split("\t") for row in self.cleaned_data["names"].splitlines())
        return [next((cell for cell in cells if cell.strip()), "") for cells in rows]


class UsualForm(EditForm):
    """Which of the library's activities the school uses."""

    keys = forms.MultipleChoiceField(label="Activities", required=False)

    def __init__(self, *args: Any, offered: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["keys"].choices = offered  # type: ignore[attr-defined]  # a choice field


class RenameForm(EditForm):
    """Another name for an activity."""

    name = forms.CharField(label="Name", max_length=120, error_messages={"required": "Give the activity a name."})
