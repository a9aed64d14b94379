"""Forms of the calendar: each says what is to be done, and is previewed before it is."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django import forms

from scheduling.forms.credits import CreditsForm
from scheduling.models.day_changes import WHOLE_DAY
from scheduling.selectors.calendar_choices import Choices
from scheduling.services.deeds import ChangeClosure, Close, Plan, Reopen, SetKind
from teamroom.common.forms import ClockField, EditForm
from teamroom.dates.forms import day_field
from teamroom.dates.models import Closure

NO_PUPIL = "Never the name of a pupil."


class SpanForm(EditForm):
    """A name and a span of dates, both included."""

    name = forms.CharField(
        label="What for",
        max_length=120,
        help_text=f"As people will read it in the calendar: Snow day, Fall break. {NO_PUPIL}",
        error_messages={"required": "Say what the school is closed for."},
    )
    first_day = day_field("First day closed", "Give the first day without pupils.")
    last_day = day_field("Last day closed", "")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["last_day"].required = False
        self.fields["last_day"].help_text = "Empty for a single day."

    def clean_last_day(self) -> dt.date | None:
        """A single day's last day is its first."""
        last: dt.date | None = self.cleaned_data["last_day"] or self.cleaned_data.get("first_day")
        return last

    @property
    def close(self) -> Close:
        told = self.cleaned_data
        return Close(told["first_day"], told["last_day"], told["name"])

    def change(self, on: dt.date) -> ChangeClosure:
        """Give the closure that covers a date what the form says."""
        told = self.cleaned_data
        return ChangeClosure(on, told["first_day"], told["last_day"], told["name"])


class ReopenForm(EditForm):
    """One date, or the whole of the closure it lies in."""

    which = forms.ChoiceField(label="Reopen", widget=forms.RadioSelect)

    def __init__(self, *args: Any, closure: Closure, date: dt.date, said: tuple[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.closure, self.date = closure, date
        one, whole = said
        choices = [("date", one)]
        if closure.first_day < closure.last_day:
            choices.append(("whole", whole))
        self.fields["which"].choices = choices  # type: ignore[attr-defined]  # a choice field
        self.fields["which"].initial = "date"

    @property
    def reopen(self) -> Reopen:
        if self.cleaned_data["which"] == "whole":
            return Reopen(self.closure.first_day, self.closure.last_day)
        return Reopen(self.date, self.date)


class KindForm(EditForm):
    """Which kind a date has: that of its weekday, or one of its own."""

    kind = forms.ChoiceField(label="Kind of day", required=False, widget=forms.RadioSelect)

    def __init__(self, *args: Any, kinds: Sequence[tuple[str, str]], usual: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.names = dict(kinds)
        self.fields["kind"].choices = [("", f"As its weekday is: {usual}"), *kinds]  # type: ignore[attr-defined]  # as above

    def set_kind(self, on: dt.date) -> SetKind:
        kind = self.cleaned_data["kind"]
        return SetKind(on, kind, self.names.get(kind, ""))


class ChangeForm(CreditsForm):
    """A day change: what, when, for whom, and what it credits."""

    field_order = ("name", "date", "start", "end", "closed", "teams", "classrooms", "credits")
    name = forms.CharField(
        label="What happens",
        max_length=200,
        help_text=f"Early release, Assembly, Fire drill. {NO_PUPIL}",
        error_messages={"required": "Say what happens on that day."},
    )
    date = day_field("Date", "Give the date.")
    closed = forms.BooleanField(label="It closes the whole day for them", required=False)
    start = ClockField(label="From", missing="Say from when, or that it closes the whole day.")
    end = ClockField(label="Until", missing="Say until when, or that it closes the whole day.")
    teams = forms.TypedMultipleChoiceField(
        label="For teams", coerce=int, required=False, widget=forms.CheckboxSelectMultiple
    )
    classrooms = forms.TypedMultipleChoiceField(
        label="For classrooms",
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Tick neither teams nor classrooms, and it is for the whole school.",
    )

    def __init__(self, *args: Any, choices: Choices, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.activities = choices.activities
        self.fields["teams"].choices = choices.teams  # type: ignore[attr-defined]  # a choice field
        self.fields["classrooms"].choices = choices.classrooms  # type: ignore[attr-defined]  # as above
        if self.is_bound and self.data.get("closed"):
            for name in ("start", "end"):
                self.fields[name].required = False

    def clean(self) -> dict[str, Any]:
        told = super().clean() or self.cleaned_data
        if told.get("closed"):
            # A closing takes the whole day, whatever times were typed before the box was ticked.
            for name in ("start", "end"):
                self.errors.pop(name, None)
        return told

    @property
    def plan(self) -> Plan:
        told = self.cleaned_data
        start, end = WHOLE_DAY if told["closed"] else (told["start"], told["end"])
        return Plan(
            date=told["date"],
            name=told["name"],
            closed=told["closed"],
            start=start,
            end=end,
            credits=told["credits"],
            classrooms=tuple(told["classrooms"]),
            teams=tuple(told["teams"]),
        )


def plan_initial(plan: Plan) -> dict[str, Any]:
    """A plan as the form shows it."""
    return {
        "name": plan.name,
        "date": plan.date,
        "closed": plan.closed,
        "start": None if plan.closed else plan.start,
        "end": None if plan.closed else plan.end,
        "credits": plan.credits,
        "classrooms": plan.classrooms,
        "teams": plan.teams,
    }


class SchoolsCloseForm(SpanForm):
    """A span of dates closed in several schools at once."""

    schools = forms.TypedMultipleChoiceField(
        label="In these schools",
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick the schools that close."},
    )

    def __init__(self, *args: Any, schools: Sequence[tuple[int, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["schools"].choices = schools  # type: ignore[attr-defined]  # a choice field
        self.fields["schools"].initial = [pk for pk, _ in schools]
