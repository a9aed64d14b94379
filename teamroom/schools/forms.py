"""Forms of founding schools and appointing who looks after them."""

from typing import Any

from django import forms
from django.conf import settings

from teamroom.common.forms import EditForm
from teamroom.dates.places import state_choices, zone_choices
from teamroom.members.forms.people import days_field, email_field, school_role_field


class FoundForm(EditForm):
    """A school, and who is to set it up."""

    name = forms.CharField(
        label="Name of the school", max_length=200, error_messages={"required": "Give the school's name."}
    )
    place = forms.ChoiceField(
        label="State or territory",
        required=False,
        help_text="For its holidays and its published rules.",
        error_messages={"invalid_choice": "Choose from the list."},
    )
    time_zone = forms.ChoiceField(
        label="Time zone",
        error_messages={"required": "Choose the school's time zone.", "invalid_choice": "Choose from the list."},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        place, zone = self.fields["place"], self.fields["time_zone"]
        assert isinstance(place, forms.ChoiceField) and isinstance(zone, forms.ChoiceField)  # noqa: S101 - for types
        place.choices, zone.choices = state_choices(), zone_choices()
        zone.initial = settings.TIME_ZONE
        zone.widget.attrs["data-zone"] = ""
        self.fields["email"] = email_field("E-mail address of its first administrator")
        self.fields["email"].required = False
        self.fields["email"].help_text = "They are invited, and set the school up. You can do this later too."


class SchoolInviteForm(EditForm):
    """Somebody who is to look after the whole school."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["email"] = email_field()
        self.fields["name"] = forms.CharField(
            label="Name", max_length=150, required=False, help_text="As colleagues see it; they can change it."
        )
        self.fields["school_role"] = school_role_field(required=True)
        self.fields["days"] = days_field()


class DistrictForm(EditForm):
    """Whom to make a district administrator."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["email"] = email_field("Address they sign in with")
