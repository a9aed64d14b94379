"""The form of bell times: one day's times, and every grade and kind of day that is to keep them."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from django import forms

from scheduling.models import Activity
from scheduling.selectors.bells_page import BellLine, BellsPage
from scheduling.selectors.year_words import YearWords, day_said
from scheduling.services.school_times import MOST_STRETCHES, BellPlace, BellTimes, Fixed
from teamroom.common.errors import RuleBroken
from teamroom.common.forms import ClockField, EditForm
from teamroom.dates.grades import NotUnderstood, parsed_grades
from teamroom.dates.models import DayKind

EMPTY_ROWS = 2
LEFT_OUT = "out"
ROW = re.compile(r"fixed-([0-9]{1,4})-(activity|start|end|days)")


class FixedRow(EditForm):
    """A fixed stretch of the day, such as lunch; without days it stands on every day."""

    activity = forms.ChoiceField(label="What", error_messages={"required": "Choose what this time is for."})
    start = ClockField(label="From", missing="Give it a start.")
    end = ClockField(label="To", missing="Give it an end.")
    days = forms.MultipleChoiceField(label="On", required=False, widget=forms.CheckboxSelectMultiple)

    def __init__(self, data: Any = None, *, number: int, words: YearWords, initial: Any = None) -> None:
        super().__init__(data, prefix=f"fixed-{number}", initial=initial, use_required_attribute=False)
        self.number, self.words = number, words
        self.fields["activity"].choices = [  # type: ignore[attr-defined]  # a choice field
            *((str(one.pk), one.name) for one in words.activities.values()),
            (LEFT_OUT, "leave this row out"),
        ]
        self.fields["days"].choices = [(day, day_said(day)) for day in self.days_offered]  # type: ignore[attr-defined]  # as above

    @property
    def days_offered(self) -> list[str]:
        """The cycle's usual days, and any other that a stretch already has."""
        usual = list(self.words.cycle.usual_days)
        known = {
            day
            for bells in self.words.inputs.bells.values()
            for bell in bells.values()
            for f in bell.fixed
            for day in f.days or ()
        }
        return usual + sorted(known.difference(usual))

    @property
    def chosen(self) -> str:
        return str(self["activity"].value() or "")

    @property
    def ticked(self) -> list[str]:
        return [str(day) for day in self["days"].value() or ()]

    @property
    def is_left_out(self) -> bool:
        return self.is_bound and self.chosen == LEFT_OUT

    def fixed(self, activities: Mapping[int, Activity]) -> Fixed:
        told = self.cleaned_data
        days = tuple(told["days"])
        # Every day ticked is every day: a school day on a Saturday is then like the others.
        every = not days or set(days) >= set(self.words.cycle.usual_days)
        return Fixed(activities[int(told["activity"])], told["start"], told["end"], None if every else days)


class TimesForm(EditForm):
    """Start, dismissal and fixed stretches, with ticks for whom they are."""

    start = ClockField(label="Start", missing="Give the day a start.")
    dismissal = ClockField(label="Dismissal", missing="Give the day a dismissal.")
    places = forms.MultipleChoiceField(required=False)
    more_grades = forms.CharField(
        label="Grades",
        required=False,
        max_length=200,
        help_text="As in K, 1 or 3-5.",
    )
    more_kinds = forms.MultipleChoiceField(label="Kinds of day", required=False)
    seen = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)
    seal = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)

    def __init__(self, data: Any = None, *, page: BellsPage, words: YearWords, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.page, self.words = page, words
        self.fields["places"].choices = [(line.place, "") for kind in page.kinds for line in kind.lines]  # type: ignore[attr-defined]  # a choice field
        self.fields["more_kinds"].choices = [(str(kind.pk), kind.name) for kind in page.kinds]  # type: ignore[attr-defined]  # as above
        self.rows = list(self._rows())

    def _rows(self) -> Iterator[FixedRow]:
        """The rows that say something, or those the form begins with."""
        if not self.is_bound:
            for number, initial in enumerate(self.initial.get("fixed", ())):
                yield FixedRow(number=number, words=self.words, initial=initial)
            return
        said = {
            int(found[1])
            for name in self.data
            if (found := ROW.fullmatch(name)) and any(value.strip() for value in self._list(name))
        }
        # One more than there may be, so that too many are refused and not dropped.
        for number in sorted(said)[: MOST_STRETCHES + 1]:
            yield FixedRow(self.data, number=number, words=self.words)

    def _list(self, name: str) -> list[str]:
        getlist = getattr(self.data, "getlist", None)
        found: list[str] = getlist(name) if getlist else self.data.get(name, [])
        return found

    @property
    def empty_rows(self) -> list[FixedRow]:
        """Rows to fill, after those that say something."""
        after = max((row.number for row in self.rows), default=-1) + 1
        return [FixedRow(number=after + place, words=self.words) for place in range(EMPTY_ROWS)]

    @property
    def ticked(self) -> list[str]:
        return [str(place) for place in self["places"].value() or ()]

    @property
    def kinds_ticked(self) -> list[str]:
        return [str(kind) for kind in self["more_kinds"].value() or ()]

    def clean_more_grades(self) -> list[str]:
        try:
            return parsed_grades(self.cleaned_data["more_grades"], also=self.page.grades)
        except NotUnderstood as fault:
            raise forms.ValidationError(str(fault)) from fault

    def clean(self) -> None:
        if self.cleaned_data.get("more_grades") and not self.cleaned_data.get("more_kinds"):
            self.add_error("more_kinds", "Tick the kinds of day on which these grades keep these times.")
        if not all(row.is_left_out or row.is_valid() for row in self.rows):
            self.add_error(None, "Some of the fixed stretches want mending.")

    def refuse(self, broken: RuleBroken) -> None:
        """As every form; what a service says of the n-th stretch lands on its row."""
        kept = [row for row in self.rows if not row.is_left_out]
        found = re.fullmatch(r"fixed-([0-9]+)", broken.field or "")
        if found and int(found[1]) < len(kept):
            kept[int(found[1])].add_error(None, broken.message)
        super().refuse(broken)

    def places_asked(self, kinds: Mapping[int, DayKind]) -> list[BellPlace]:
        """The ticked grades and kinds, with the grades that were written in, each once."""
        ticked = [place.rpartition(":") for place in self.cleaned_data["places"]]
        asked = [(grade, int(kind)) for grade, _, kind in ticked]
        asked += [
            (grade, int(kind)) for grade in self.cleaned_data["more_grades"] for kind in self.cleaned_data["more_kinds"]
        ]
        return [(grade, kinds[kind]) for grade, kind in dict.fromkeys(asked) if kind in kinds]

    def times(self, activities: Mapping[int, Activity]) -> BellTimes:
        fixed = [row.fixed(activities) for row in self.rows if not row.is_left_out]
        return BellTimes(self.cleaned_data["start"], self.cleaned_data["dismissal"], fixed)


def begun_with(line: BellLine | None) -> dict[str, Any]:
    """What a form begins with: the times of a schedule that is there, if any."""
    if line is None or not line.pk:
        return {}
    fixed = [
        {"activity": str(one.activity), "start": one.start, "end": one.end, "days": list(one.on)}
        for one in line.stretches
    ]
    return {"start": line.start, "dismissal": line.dismissal, "fixed": fixed}
