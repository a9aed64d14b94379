"""The form of one rule: what it is called, where it stands written, and all that it demands."""

import datetime as dt
from collections.abc import Collection, Mapping
from typing import Any

from django import forms

from scheduling.forms.rules.shown import PartShown, Step, parts_shown
from scheduling.forms.rules.typed import Posted, body_typed
from scheduling.forms.rules.writing import body_shown, body_written, faults_by_field, kept_as_written, known_to
from scheduling.minutes.definitions import Written, rule_from
from scheduling.minutes.rules import Rule
from scheduling.models.rules import STANDINGS
from scheduling.selectors.year_words import YearWords
from scheduling.services.rules import Wording
from teamroom.common.forms import EditForm
from teamroom.common.wording import counted
from teamroom.dates.grades import NotUnderstood, parsed_grades

LONGEST_TEXT = 10_000
STANDING_CHOICES = [
    ("school", "the school asks it of itself"),
    ("district", "the district asks it"),
    ("law", "it is law"),
    ("advice", "it is advice"),
]
PROOFS = [("week", "A classroom’s week can prove it"), ("none", "No week can prove it")]
assert {value for value, _ in STANDING_CHOICES} == set(STANDINGS)  # noqa: S101 - a standing without words would be lost
READS = ("grades", "proof", "reason", "effective_from", "effective_to")
"""The fields that what it demands follows from, besides its parts."""
WEB = ("https://", "http://")


class RuleDateField(forms.DateField):
    """A date in the range that school files know."""

    def __init__(self, label: str, **kwargs: Any) -> None:
        super().__init__(
            label=label,
            required=False,
            widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            input_formats=["%Y-%m-%d"],
            error_messages={"invalid": "Write the date as 2026-09-07."},
            **kwargs,
        )

    def clean(self, value: Any) -> dt.date | None:
        date: dt.date | None = super().clean(value)
        if date is not None and not 1900 <= date.year < 2200:
            raise forms.ValidationError("Give a date between 1900 and 2199.")
        return date


class GradesField(forms.CharField):
    """Grades as people type them; a list to the code. `also` are names of the school's own."""

    stood: tuple[str, ...] = ()
    also: tuple[str, ...] = ()

    def clean(self, value: Any) -> list[str]:
        written: str = super().clean(value)
        # Just as they stood: a name such as 4/5 would otherwise come apart.
        if self.stood and written == grades_written(self.stood):
            return list(self.stood)
        try:
            found = parsed_grades(written, also=self.also)
        except NotUnderstood as fault:
            raise forms.ValidationError(str(fault)) from fault
        if not found:
            raise forms.ValidationError(self.error_messages["required"])
        return found


class LongText(forms.CharField):
    """Text of several lines, with the line breaks that everything else has and browsers do not send."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(required=False, widget=forms.Textarea(attrs={"rows": 2}), **kwargs)

    def to_python(self, value: Any) -> str:
        text = super().to_python(value) or ""
        return text.replace("\r\n", "\n")


def grades_written(grades: Any) -> str:
    return ", ".join(grades)


class RuleForm(EditForm):
    """Everything a rule can say. `before` is the wording a rule already has, of which nothing is lost."""

    name = forms.CharField(
        label="What the rule is called",
        max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"required": "Give the rule a name, as in Mathematics in the week."},
    )
    grades = GradesField(
        label="For grades",
        max_length=300,
        help_text="As in K, 1 or 3-5. A combination class answers to each of its grades.",
        error_messages={"required": "Say for which grades, as in 3-5."},
    )
    standing = forms.ChoiceField(label="Its standing", choices=STANDING_CHOICES, initial="school")
    proof = forms.ChoiceField(label="Proof", choices=PROOFS, widget=forms.RadioSelect, initial="week")
    reason = LongText(
        label="Why no week can prove it",
        max_length=LONGEST_TEXT,
        help_text="As in: it counts groups of pupils, which a class’s week does not show. Never the name of a pupil.",
    )
    citation_title = forms.CharField(
        label="Where it is written",
        required=False,
        max_length=500,
        help_text="The law, code or policy, with its section.",
    )
    citation_url = forms.CharField(
        label="Address on the web",
        required=False,
        max_length=500,
        widget=forms.URLInput(attrs={"placeholder": "https://", "spellcheck": "false"}),
    )
    citation_checked = RuleDateField("Last checked against it on")
    effective_from = RuleDateField("In force from")
    effective_to = RuleDateField("In force until", help_text="Leave both empty for a rule that holds throughout.")
    note = LongText(
        label="Note",
        max_length=LONGEST_TEXT,
        help_text="What else to know about it. Never the name of a pupil.",
    )
    seen = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)

    def __init__(
        self,
        *args: Any,
        words: YearWords,
        grades: Collection[str] = (),
        before: Wording | None = None,
        **kwargs: Any,
    ) -> None:
        if before is not None:
            kwargs["initial"] = {**_initial(before), **kwargs.get("initial", {})}
        super().__init__(*args, **kwargs)
        self.words = words
        self.before = before
        self.body: dict[str, Any] = {}
        self.part_faults: Mapping[int, Mapping[str, str]] = {}
        self.typed = body_typed(_posted(self.data)) if self.is_bound else body_shown(self._body_before)
        field: Any = self.fields["grades"]
        field.stood = before.grades if before else ()
        field.also = (*field.stood, *grades)

    @property
    def _body_before(self) -> Written:
        return self.before.body if self.before else {}

    def shown(self, step: Step) -> list[PartShown]:
        """The parts for the template."""
        return parts_shown(
            self.typed,
            self.part_faults,
            activities={key: activity.name for key, activity in self.words.by_key.items()},
            kinds=dict(self.words.kinds.values()),
            step=step,
        )

    def as_typed(self) -> "RuleForm":
        """The form with all that was typed and without refusals: nobody said yet that it is finished."""
        typed = {name: self.data.get(name, "") for name in self.fields}
        form = RuleForm(words=self.words, initial=typed)
        form.before, form.typed = self.before, self.typed
        return form

    @property
    def join(self) -> str:
        return self.typed.join

    def clean(self) -> dict[str, Any]:
        told = super().clean() or self.cleaned_data
        if told.get("proof") == "none":
            if not told.get("reason") and "reason" not in self.errors:
                self.add_error("reason", "Say why no week can prove it.")
        elif "proof" not in self.errors:
            told["reason"] = ""
            self._read_body()
        self._check_source(told)
        first, last = told.get("effective_from"), told.get("effective_to")
        if first and last and last < first:
            self.add_error("effective_to", "The rule ends before it begins: give a later date, or none.")
        return told

    def _read_body(self) -> None:
        known = known_to(self.words.by_key, dict(self.words.kinds.values()), self._body_before)
        body, faults = body_written(self.typed, known)
        if faults:
            self.part_faults = faults_by_field(faults)
            places = {number: place for place, number in enumerate(self.typed.parts, start=1)}
            where = counted(len(faults), "thing")
            parts = ", ".join(str(places[number]) for number in self.part_faults)
            part = "part" if len(self.part_faults) == 1 else "parts"
            self.add_error(None, f"{where} to mend in {part} {parts}.")
        else:
            self.body = kept_as_written(body, self._body_before)

    def _check_source(self, told: Mapping[str, Any]) -> None:
        title, url = told.get("citation_title"), told.get("citation_url")
        if not title and "citation_title" not in self.errors and (url or told.get("citation_checked")):
            self.add_error("citation_title", "Say what the source is called, too.")
        old = self.before.citation_url if self.before else ""
        if url and url != old and not url.startswith(WEB):
            self.add_error("citation_url", "Write the whole address, beginning with https://.")

    @property
    def missing(self) -> list[str]:
        """What keeps the demand from being worked out, in sentences."""
        told = [str(self.errors[name][0]) for name in READS if name in self.errors]
        return told + [sentence for part in self.part_faults.values() for sentence in part.values()]

    def rule(self) -> Rule | None:
        """The rule as the counting takes it, whether or not it has a name and a source yet; None if unreadable."""
        if not self.is_bound:
            return _counted(self.before) if self.before else None
        if any(name in self.errors for name in READS) or self.part_faults:
            return None
        told = {name: self.cleaned_data[name] for name in ("effective_from", "effective_to")}
        wording = Wording(
            name="",
            grades=tuple(self.cleaned_data["grades"]),
            not_checkable=self.cleaned_data["reason"],
            body=self.body,
            **told,
        )
        return _counted(wording)

    @property
    def wording(self) -> Wording:
        told = self.cleaned_data
        same = (
            "name",
            "standing",
            "citation_title",
            "citation_url",
            "citation_checked",
            "effective_from",
            "effective_to",
        )
        return Wording(
            **{name: told[name] for name in (*same, "note")},
            grades=tuple(told["grades"]),
            not_checkable=told["reason"],
            body=self.body,
        )


def _counted(wording: Wording) -> Rule:
    return rule_from(
        wording.body,
        key="preview",
        grades=frozenset(wording.grades),
        effective_from=wording.effective_from,
        effective_to=wording.effective_to,
        not_checkable=wording.not_checkable,
    )


def _posted(data: Any) -> Posted:
    """What was posted, each name with all its values; a plain mapping is one that has them already."""
    return dict(data.lists()) if hasattr(data, "lists") else data


def _initial(wording: Wording) -> dict[str, Any]:
    same = {
        name: getattr(wording, name) for name in Wording.__dataclass_fields__ if name not in ("body", "not_checkable")
    }
    return {
        **same,
        "grades": grades_written(wording.grades),
        "proof": "none" if wording.not_checkable else "week",
        "reason": wording.not_checkable,
    }
