"""Forms of founding schools and appointing who looks after them."""

from typing import Any

from django import forms
from django.conf import settings

from teamroom.common.forms import EditForm
from teamroom.dates.forms import SchoolFields
from teamroom.members.forms.people import days_field, email_field, school_role_field


class FoundForm(SchoolFields):
    """A school, and who is to set it up."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["time_zone"].initial = settings.TIME_ZONE
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
