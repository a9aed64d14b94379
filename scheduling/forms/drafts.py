"""Forms of drafts: a new version of a week, and putting a draft in effect."""

from django import forms

from scheduling.forms.weeks import StartsForm
from teamroom.common.forms import EditForm


class DraftNameField(forms.CharField):
    """What a draft is called, if anything."""

    def __init__(self) -> None:
        super().__init__(
            required=False,
            label="Name of the draft (if you like)",
            max_length=120,
            help_text="So that several can be told apart. Never the name of a pupil.",
            error_messages={"max_length": "Give a name of 120 letters or fewer."},
        )


class NewVersionForm(StartsForm):
    """From which date a copy of a week is meant, and whether it counts at once."""

    how = forms.ChoiceField(
        required=False,
        label="What it is",
        choices=[
            ("draft", "A draft: it counts for nothing until you put it in effect"),
            ("count", "Let it count at once"),
        ],
        initial="draft",
        widget=forms.RadioSelect,
    )
    name = DraftNameField()


class PutInEffectForm(EditForm):
    """Putting a draft in effect as it was seen; `replace` lets a version from the same date become a draft."""

    seen = forms.CharField(max_length=64, widget=forms.HiddenInput, error_messages={"required": "Look at it first."})
    replace = forms.BooleanField(required=False, label="Put it in place of that version, which becomes a draft")
