"""The form of a specialist's post."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django import forms

from scheduling.models import Activity
from scheduling.services.specialists import PostToBe
from teamroom.common.forms import EditForm
from teamroom.members.models import Classroom, Member, Team

CHOOSE = ("", "Choose\N{HORIZONTAL ELLIPSIS}")
SCHOOL, SOME = "school", "some"


@dataclass(frozen=True)
class PostChoices:
    """Whom and what a post can be given to."""

    people: Iterable[Member]
    activities: Iterable[Activity]
    teams: Iterable[Team]
    classrooms: Iterable[Classroom]


class PostForm(EditForm):
    """Who teaches which activity to which classes. A post that is changed keeps its member."""

    member = forms.TypedChoiceField(label="Who", coerce=int, error_messages={"required": "Choose who it is."})
    activity = forms.TypedChoiceField(
        label="Teaches", coerce=int, error_messages={"required": "Choose what they teach."}
    )
    reach = forms.ChoiceField(
        label="To",
        choices=[(SCHOOL, "All the school"), (SOME, "These teams and classrooms")],
        widget=forms.RadioSelect,
        initial=SCHOOL,
        error_messages={"required": "Say whom they teach."},
    )
    teams = forms.TypedMultipleChoiceField(
        label="Teams", coerce=int, required=False, widget=forms.CheckboxSelectMultiple
    )
    classrooms = forms.TypedMultipleChoiceField(
        label="Single classrooms", coerce=int, required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, choices: PostChoices, keeps_member: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.people = {member.pk: member for member in choices.people}
        self.activities = {activity.pk: activity for activity in choices.activities}
        self.known_teams = {team.pk: team for team in choices.teams}
        self.known_rooms = {room.pk: room for room in choices.classrooms}
        self._offer("member", [CHOOSE, *((pk, member.name) for pk, member in self.people.items())])
        self._offer("activity", [CHOOSE, *((pk, activity.name) for pk, activity in self.activities.items())])
        self._offer("teams", [(pk, team.name) for pk, team in self.known_teams.items()])
        self._offer("classrooms", [(pk, str(room)) for pk, room in self.known_rooms.items()])
        if keeps_member:
            del self.fields["member"]

    def _offer(self, name: str, choices: list[tuple[Any, str]]) -> None:
        self.fields[name].choices = choices  # type: ignore[attr-defined]  # a choice field

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if told.get("reach") == SOME and not told.get("teams") and not told.get("classrooms"):
            self.add_error("reach", "Tick the teams or classrooms they teach, or choose all the school.")
        return told

    @property
    def chosen(self) -> Member:
        return self.people[self.cleaned_data["member"]]

    @property
    def to_be(self) -> PostToBe:
        told = self.cleaned_data
        activity = self.activities[told["activity"]]
        if told["reach"] == SCHOOL:
            return PostToBe(activity)
        return PostToBe(
            activity,
            [self.known_teams[pk] for pk in told["teams"]],
            [self.known_rooms[pk] for pk in told["classrooms"]],
        )
