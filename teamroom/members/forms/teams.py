"""Forms about teams, and about who teaches a class when."""

from collections.abc import Collection, Iterable
from typing import Any

from django import forms

from teamroom.common.forms import EditForm
from teamroom.dates.forms import DayInput, GradesField
from teamroom.members.models import Classroom, Member
from teamroom.members.services.teams import TeamToBe

CHOOSE = ("", "Choose\N{HORIZONTAL ELLIPSIS}")


def date_field(label: str, *, help_text: str = "", missing: str = "") -> forms.DateField:
    """A date as a browser's date field writes it; without `missing` it may be left empty."""
    return forms.DateField(
        label=label,
        required=bool(missing),
        help_text=help_text,
        widget=DayInput(),
        error_messages={"required": missing, "invalid": "Write the date as 2026-09-07."},
    )


class TeamForm(EditForm):
    """A team's name, its grades, and whether it edits together."""

    name = forms.CharField(
        label="Name", max_length=120, error_messages={"required": "Give the team a name, such as Grade 4."}
    )
    grades = GradesField(
        label="Grades", missing="Name the grades the team teaches, as in 4 or K, 1.", help_text="As in 4, or K, 1."
    )
    edits_together = forms.BooleanField(
        label="Teachers of this team may change each other\N{RIGHT SINGLE QUOTATION MARK}s weeks",
        required=False,
        help_text="Without it a teacher changes the weeks of their own class. The lead may always change all.",
    )

    def __init__(self, *args: Any, also: Collection[str] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["grades"].also = also  # type: ignore[attr-defined]  # a field of grades

    @property
    def to_be(self) -> TeamToBe:
        told = self.cleaned_data
        return TeamToBe(told["name"], told["grades"], told["edits_together"])


class BringBackForm(EditForm):
    """Which of a retired team's classrooms come back with it: all, unless a tick is taken away."""

    classrooms = forms.TypedMultipleChoiceField(
        label="With these classrooms", coerce=int, required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, rooms: Iterable[Classroom], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [(room.pk, str(room)) for room in rooms]
        self.initial["classrooms"] = [pk for pk, _ in choices]
        self.fields["classrooms"].choices = choices  # type: ignore[attr-defined]  # a choice field
        if not choices:
            del self.fields["classrooms"]


class _OfTeamForm(EditForm):
    """A form that chooses somebody of the class's team; `people` pair members with what they are to it."""

    member = forms.TypedChoiceField(
        label="Who", coerce=int, error_messages={"required": "Choose somebody of the team."}
    )

    def __init__(self, *args: Any, people: Iterable[tuple[Member, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.people = {member.pk: member for member, _ in people}
        told = [(member.pk, f"{member.name} ({role})") for member, role in people]
        self.fields["member"].choices = [CHOOSE, *told]  # type: ignore[attr-defined]  # a choice field

    @property
    def chosen(self) -> Member:
        return self.people[self.cleaned_data["member"]]


class PutOnForm(_OfTeamForm):
    """Somebody to teach a class, all year or within dates."""

    first_day = date_field("First day", help_text="Empty: from the start.")
    last_day = date_field("Last day", help_text="Empty: to the end.")


class HandOverForm(_OfTeamForm):
    """Who takes a class over, and from which day."""

    from_day = date_field("From", missing="Give the first day of who takes the class over.")
    field_order = ["member", "from_day"]


class TeachingDatesForm(EditForm):
    """From when to when somebody teaches a class."""

    first_day = date_field("First day", help_text="Empty: from the start.")
    last_day = date_field("Last day", help_text="Empty: to the end.")


class TakeOffForm(EditForm):
    """The last day of somebody who leaves a class."""

    last_day = date_field(
        "Last day with the class",
        help_text="Empty: they never taught it, and are taken off as if they had not been on it.",
    )
