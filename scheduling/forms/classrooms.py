"""The form of a classroom: its team, grades, room and head counts."""

from collections.abc import Collection, Iterable
from typing import Any

from django import forms

from scheduling.services.classrooms import ClassroomToBe
from teamroom.common.forms import EditForm
from teamroom.dates.forms import GradesField
from teamroom.members.models import Classroom, Team

MOST_PUPILS = 32767


def _head_count(label: str, help_text: str, least: int) -> forms.IntegerField:
    told = f"Write a whole number of {least} or more, or leave it empty."
    messages = dict.fromkeys(("invalid", "min_value"), told) | {"max_value": "That is more than a class can have."}
    return forms.IntegerField(
        label=label,
        required=False,
        min_value=least,
        max_value=MOST_PUPILS,
        help_text=help_text,
        error_messages=messages,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )


class ClassroomForm(EditForm):
    """One class with its room and head counts: never a name of anybody in it."""

    name = forms.CharField(
        label="Name",
        max_length=120,
        help_text="As colleagues call it, such as Room 12. Never the name of a pupil.",
        error_messages={"required": "Give the classroom a name, such as Room 12."},
    )
    grades = GradesField(
        label="Grades",
        missing="Name the class\N{RIGHT SINGLE QUOTATION MARK}s grade, as in 4, or 4, 5 for a combination class.",
        help_text="As in 4. A combination class has several, as in 4, 5; the first one leads.",
    )
    team = forms.TypedChoiceField(label="Team", coerce=int)
    room = forms.CharField(label="Room", required=False, max_length=80)
    enrolment = _head_count("Pupils", "A head count.", 0)
    cap = _head_count("Cap", "How many it may have.", 1)

    def __init__(self, *args: Any, teams: Iterable[Team], also: Collection[str] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.teams = {team.pk: team for team in teams}
        self.fields["team"].choices = [(pk, team.name) for pk, team in self.teams.items()]  # type: ignore[attr-defined]  # a choice field
        self.fields["grades"].also = also  # type: ignore[attr-defined]  # a field of grades
        if len(self.teams) == 1:
            self.fields["team"].widget = forms.HiddenInput()
            self.initial.setdefault("team", next(iter(self.teams)))

    @property
    def to_be(self) -> ClassroomToBe:
        told = self.cleaned_data
        return ClassroomToBe(
            self.teams[told["team"]], told["name"], told["grades"], told["room"], told["enrolment"], told["cap"]
        )


def as_it_is(classroom: Classroom) -> dict[str, Any]:
    """What the form shows of a classroom before anybody changes it."""
    names = ("grades", "room", "enrolment", "cap")
    told = {name: getattr(classroom, name) for name in names}
    return {"name": str(classroom), "team": classroom.team_id, **told}
