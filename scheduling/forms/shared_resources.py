"""The form of what classes share."""

from django import forms

from teamroom.common.forms import EditForm


class ResourceForm(EditForm):
    """A name, and how many classes can have it at the same time."""

    name = forms.CharField(
        label="What it is",
        help_text="A room, a cart or a kind of helper, such as Science lab or Classroom aide. "
        "Never the name of a pupil.",
        error_messages={"required": "Give it a name, such as Science lab."},
    )
    capacity = forms.IntegerField(
        label="How many classes can have it at once",
        initial=1,
        widget=forms.NumberInput(attrs={"inputmode": "numeric", "min": 1, "max": 99}),
        help_text="1 for a room or a cart; 2 for two aides, each with a class of their own.",
        error_messages={
            "required": "Say how many classes can have it at once.",
            "invalid": "Write a whole number, such as 1 or 2.",
        },
    )
