"""The next year's dates, and what comes along from the year before."""

import datetime as dt
import re
from typing import Any

from django import forms
from django.http import QueryDict

from teamroom.common.wording import counted
from teamroom.dates.forms import YearFields
from teamroom.dates.models import SchoolYear
from teamroom.setup.next_year import PARTS, what_there_is

THINGS = {
    "kinds": ("kind", "kinds"),
    "standing": ("day", "days"),
    "activities": ("activity", "activities"),
    "shared": ("resource", "resources"),
    "bells": ("schedule", "schedules"),
    "rules": ("rule", "rules"),
    "teams": ("classroom", "classrooms"),
    "people": ("person", "people"),
}
# Who teaches what is new every year, and so left for a deliberate tick.
NOT_TICKED = ("people",)


class NextYearForm(YearFields):
    """A year after another, and the parts of that one to copy."""

    take = forms.MultipleChoiceField(label="Take along", required=False, widget=forms.CheckboxSelectMultiple)

    def __init__(self, data: QueryDict | None, *, old: SchoolYear) -> None:
        super().__init__(data, initial=next_guess(old))
        there = what_there_is(old)
        take = self.fields["take"]
        assert isinstance(take, forms.MultipleChoiceField)  # noqa: S101 - for types
        take.choices = [(part, _label(part, there[part])) for part in PARTS if there[part]]
        take.initial = [part for part, _ in take.choices if part not in NOT_TICKED]
        take.help_text = "Bell schedules and rules bring the activities and kinds of day along that they speak of."


def next_guess(old: SchoolYear) -> dict[str, Any]:
    """The name counted on, the dates fifty-two weeks later."""
    return {
        "year_name": re.sub(r"\d+", lambda found: _one_more(found[0]), old.name),
        "first_day": old.first_day + dt.timedelta(weeks=52),
        "last_day": old.last_day + dt.timedelta(weeks=52),
    }


def _one_more(number: str) -> str:
    return str(int(number) + 1).zfill(len(number))[-max(len(number), 2) :]


def _label(part: str, number: int) -> str:
    if part not in THINGS:
        return PARTS[part]
    return f"{PARTS[part]} ({counted(number, *THINGS[part])})"
