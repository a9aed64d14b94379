"""Setting a year up: its dates and its school, kinds of day, standing days and the cycle."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django import forms

from scheduling.selectors.year_setup import weekday_choices
from scheduling.services.year_setup import MOST_DAYS, FallsOutside, LeftOutside, YearFacts
from teamroom.common.errors import RuleBroken
from teamroom.common.forms import EditForm
from teamroom.dates.calendar_maths import DEFAULT_ROTATION, LONGEST_ROTATION, Cycle, CycleKind
from teamroom.dates.forms import SchoolFields, YearFields, day_field
from teamroom.dates.models import DayKind, SchoolYear

CYCLES: tuple[tuple[CycleKind, str], ...] = (
    ("weekdays", "Weekdays: Monday to Friday"),
    ("alternating weeks", "A and B weeks in turn"),
    ("rotating days", "Rotating days: Day 1, Day 2, …"),
)


class SealedForm(EditForm):
    """A form whose effect is asked about first: `seal` tells what its sender has seen."""

    seal = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)


class DatesForm(SealedForm, YearFields, SchoolFields):
    """The school's and the year's facts. `take_out` is the seal of what may fall outside the year."""

    asks_browser = False

    required_days = forms.IntegerField(
        label="School days required",
        required=False,
        min_value=1,
        max_value=MOST_DAYS,
        help_text="How many days your state or district asks for. Leave it empty if it counts minutes alone.",
        error_messages={"invalid": "Give a whole number of days."},
    )
    required_days_source = forms.CharField(
        label="Who asks for them",
        required=False,
        max_length=300,
        help_text="The law or policy, as you would cite it.",
    )
    take_out = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)
    outside: LeftOutside | None = None

    def refuse(self, broken: RuleBroken) -> None:
        """As every form, and keep what would fall outside the year, for the page to show."""
        super().refuse(broken)
        if isinstance(broken, FallsOutside):
            self.outside = broken.outside

    @property
    def facts(self) -> YearFacts:
        given = self.cleaned_data
        return YearFacts(
            school_name=given["name"],
            time_zone=given["time_zone"],
            place=given["place"],
            name=given["year_name"],
            first_day=given["first_day"],
            last_day=given["last_day"],
            required_days=given["required_days"],
            required_days_source=given["required_days_source"],
        )


def facts_of(year: SchoolYear) -> dict[str, Any]:
    """What the form of a year's dates begins with."""
    return {
        "name": year.school.name,
        "place": year.school.place,
        "time_zone": year.school.time_zone,
        "year_name": year.name,
        "first_day": year.first_day,
        "last_day": year.last_day,
        "required_days": year.required_days,
        "required_days_source": year.required_days_source,
    }


class CountForm(forms.Form):
    """What the school days are counted from while somebody types."""

    first_day = forms.DateField()
    last_day = forms.DateField()
    required_days = forms.IntegerField(required=False, min_value=1, max_value=MOST_DAYS)


class DayKindForm(EditForm):
    """A kind of day's name."""

    name = forms.CharField(
        label="Name, such as Early release or Late start",
        max_length=120,
        error_messages={"required": "Name the kind of day, as in Minimum day."},
    )


class StandingForm(SealedForm):
    """The kind that each weekday has all year."""

    def __init__(self, *args: Any, kinds: Sequence[DayKind], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kinds = {str(kind.pk): kind for kind in kinds}
        choices = [(pk, kind.name) for pk, kind in self.kinds.items()]
        for day, name in weekday_choices():
            self.fields[day] = forms.ChoiceField(
                label=name,
                choices=choices,
                error_messages={"required": f"Choose what {name} is.", "invalid_choice": "Choose a kind of day."},
            )

    @property
    def asked(self) -> dict[str, DayKind | None]:
        return {day: self.kinds[self.cleaned_data[day]] for day, _ in weekday_choices()}


class CycleForm(SealedForm):
    """How the school days are named."""

    kind = forms.ChoiceField(
        label="Days are named by",
        choices=CYCLES,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose how your school names its days.", "invalid_choice": "Choose one of these."},
    )
    length = forms.IntegerField(
        label="Days in the rotation",
        required=False,
        min_value=1,
        max_value=LONGEST_ROTATION,
        help_text="For rotating days.",
    )
    starts = forms.DateField(
        label="Week A or Day 1 begins on",
        required=False,
        widget=day_field("", "").widget,
        help_text="Leave it empty for the first day of school.",
        error_messages={"invalid": "Write a date, as in 2026-09-07."},
    )

    @property
    def cycle(self) -> Cycle:
        given = self.cleaned_data
        kind = next(kind for kind, _ in CYCLES if kind == given["kind"])
        starts: dt.date | None = given.get("starts") if kind != "weekdays" else None
        return Cycle(kind, given.get("length") or DEFAULT_ROTATION, starts)
