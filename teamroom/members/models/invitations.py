"""Ways in: invitations, and the one link that lets in the first administrator."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.utils import timezone

from teamroom.common.trail import kept_in_trail
from teamroom.dates.models import School
from teamroom.members.models.people import Member
from teamroom.members.models.places import Classroom, Team
from teamroom.members.roles import SCHOOL_ROLES, TEAM_ROLES


@kept_in_trail(exclude=["token_hash"])
class Invitation(models.Model):
    """A way in for one address, to be used once and before it expires.

    Only a hash of its secret is kept. It gives at least one thing: a role in the school, a role in
    a team, a classroom of one's own.
    """

    school = models.ForeignKey(School, on_delete=models.CASCADE, related_name="invitations")
    email = models.EmailField(max_length=254)
    name = models.CharField(max_length=150, blank=True)
    token_hash = models.CharField(max_length=64, unique=True, editable=False)
    school_role = models.CharField(max_length=20, blank=True, choices=[(role, role) for role in SCHOOL_ROLES])
    team = models.ForeignKey(Team, null=True, blank=True, on_delete=models.CASCADE, related_name="+")
    team_role = models.CharField(max_length=20, blank=True, choices=[(role, role) for role in TEAM_ROLES])
    classroom = models.ForeignKey(Classroom, null=True, blank=True, on_delete=models.CASCADE, related_name="+")
    invited_by = models.ForeignKey(Member, null=True, on_delete=models.SET_NULL, related_name="+")
    invited_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True, blank=True)
    accepted_by = models.ForeignKey(Member, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                "school",
                Lower("email"),
                condition=Q(accepted_at__isnull=True, revoked_at__isnull=True),
                name="one_open_invitation_an_address",
                violation_error_message="This address has an open invitation already.",
            ),
            models.CheckConstraint(
                condition=Q(team__isnull=True, team_role="") | Q(team__isnull=False, team_role__in=TEAM_ROLES),
                name="invitation_team_with_role",
            ),
            models.CheckConstraint(condition=Q(school_role__in=["", *SCHOOL_ROLES]), name="invitation_role_known"),
            models.CheckConstraint(
                condition=~Q(school_role="") | Q(team__isnull=False) | Q(classroom__isnull=False),
                name="invitation_gives_something",
                violation_error_message="Say what the invitation gives: a role in the school or in a team.",
            ),
            models.CheckConstraint(
                condition=Q(accepted_at__isnull=True) | Q(revoked_at__isnull=True), name="invitation_has_one_end"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.email}, {self.school}"


class FirstLink(models.Model):
    """The link that lets in the first administrator of an installation that has nobody yet.

    Only a hash of its secret is kept; a new link makes the one before it worthless.
    """

    token_hash = models.CharField(max_length=64, unique=True, editable=False)
    made_at = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        return f"first link of {self.made_at:%Y-%m-%d %H:%M}"
