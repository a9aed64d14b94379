"""Forms of people: inviting them, and what they are given."""

from typing import Any

from django import forms

from teamroom.common.forms import EditForm
from teamroom.dates.models import SchoolYear
from teamroom.members.access import PeoplePlace
from teamroom.members.models import Classroom, Member, Team
from teamroom.members.passphrase_rules import LongEnough
from teamroom.members.roles import SCHOOL_ROLES, TEAM_ROLES
from teamroom.members.services.invitations import USUAL_DAYS, Offer

NO_ROLE = "No role in the whole school"
LASTS = [(days, f"{days} days") for days in (3, 7, USUAL_DAYS, 30)]
NOT_LISTED = "Choose from the list."


def email_field(label: str = "E-mail address") -> forms.EmailField:
    return forms.EmailField(
        label=label,
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
        error_messages={"required": "Give the address.", "invalid": "Write it as name@school.org."},
    )


def days_field() -> forms.TypedChoiceField:
    return forms.TypedChoiceField(
        label="The invitation lasts",
        choices=LASTS,
        coerce=int,
        initial=USUAL_DAYS,
        error_messages={"invalid_choice": NOT_LISTED, "required": NOT_LISTED},
    )


def school_role_field(*, required: bool) -> forms.ChoiceField:
    roles = [(role, role.capitalize()) for role in SCHOOL_ROLES]
    return forms.ChoiceField(
        label="Role in the school",
        choices=roles if required else [("", NO_ROLE), *roles],
        required=required,
        error_messages={"invalid_choice": NOT_LISTED, "required": NOT_LISTED},
    )


class TeamChoice(forms.ModelChoiceField):  # type: ignore[type-arg]  # its rows are teams
    """A team that takes people in, of those that a member may bring people into."""

    def __init__(self, place: PeoplePlace, *, required: bool) -> None:
        teams = Team.objects.filter(year=place.year, retired=False).order_by("name", "pk")
        super().__init__(
            queryset=teams if place.may_manage_people else teams.filter(pk__in=place.led),
            label="Team",
            required=required,
            empty_label=None if required else "No team",
            error_messages={"invalid_choice": NOT_LISTED, "required": "Choose the team."},
        )


def team_role_field(*, required: bool) -> forms.ChoiceField:
    roles = [(role, role.capitalize()) for role in TEAM_ROLES]
    return forms.ChoiceField(
        label="Role in the team",
        choices=roles if required else [("", "No role in a team"), *roles],
        required=required,
        error_messages={"invalid_choice": NOT_LISTED, "required": NOT_LISTED},
    )


class RoomChoice(forms.ModelChoiceField):  # type: ignore[type-arg]  # its rows are classrooms
    """A classroom of those teams."""

    def __init__(self, place: PeoplePlace) -> None:
        rooms = Classroom.objects.filter(year=place.year, retired=False, team__retired=False).select_related("team")
        rooms = rooms.order_by("team__name", "name", "key")
        super().__init__(
            queryset=rooms if place.may_manage_people else rooms.filter(team__in=place.led),
            label="Their own classroom",
            required=False,
            empty_label="None",
            help_text="Whoever has a classroom is in its team.",
            error_messages={"invalid_choice": NOT_LISTED},
        )

    def label_from_instance(self, obj: Classroom) -> str:
        return f"{obj}, {obj.team}"


class InviteForm(EditForm):
    """Who is invited, to what, and for how long. It offers only what the member may give."""

    def __init__(self, place: PeoplePlace, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["email"] = email_field()
        self.fields["name"] = forms.CharField(
            label="Name", max_length=150, required=False, help_text="As colleagues see it; they can change it."
        )
        if place.may_manage_people:
            self.fields["school_role"] = school_role_field(required=False)
        self.fields["team"] = TeamChoice(place, required=not place.may_manage_people)
        self.fields["team_role"] = team_role_field(required=not place.may_manage_people)
        self.fields["team_role"].initial = "" if place.may_manage_people else "teacher"
        self.fields["classroom"] = RoomChoice(place)
        self.fields["days"] = days_field()

    @property
    def offer(self) -> Offer:
        given = self.cleaned_data
        return Offer(
            school_role=given.get("school_role", ""),
            team=given["team"],
            team_role=given["team_role"],
            classroom=given["classroom"],
        )


class SchoolRoleForm(EditForm):
    """A role in the whole school."""

    role = school_role_field(required=True)


class TeamRoleForm(EditForm):
    """A role in one team, in place of what they are to it."""

    def __init__(self, place: PeoplePlace, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["team"] = TeamChoice(place, required=True)
        self.fields["role"] = team_role_field(required=True)


class TakeTeamRoleForm(EditForm):
    """The team to take somebody out of; a retired one too."""

    def __init__(self, year: SchoolYear, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["team"] = forms.ModelChoiceField(
            queryset=Team.objects.filter(year=year),
            error_messages={"invalid_choice": NOT_LISTED, "required": NOT_LISTED},
        )


class ComeInForm(EditForm):
    """Name and passphrase of somebody new."""

    name = forms.CharField(
        label="Your name",
        max_length=Member._meta.get_field("name").max_length,
        help_text="As colleagues see it beside what you do.",
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
        error_messages={"required": "Give your name."},
    )
    passphrase = forms.CharField(
        label="Passphrase",
        strip=False,
        max_length=1000,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text=LongEnough().get_help_text(),
        error_messages={"required": "Choose a passphrase.", "max_length": "Choose one of at most 1000 characters."},
    )
