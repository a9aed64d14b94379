"""People and places: who signs in, the teams of a year, and their classrooms."""

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.utils import timezone

from teamroom.common.fields import KeyField
from teamroom.dates.models import Grades, School, SchoolYear
from teamroom.members.roles import SCHOOL_ROLES, TEAM_ROLES


class MemberManager(BaseUserManager["Member"]):
    def create_user(self, email: str, password: str | None = None, **fields: Any) -> "Member":
        """A member who signs in with an e-mail address; without a password nobody can yet."""
        member = self.model(email=self.normalize_email(email), **fields)
        member.set_password(password)
        member.full_clean()
        member.save(using=self._db)
        return member

    def get_by_natural_key(self, username: str | None) -> "Member":
        return self.get(email__iexact=username)


class Member(AbstractBaseUser):
    """A person with an account. What they may do is in their roles, never on the account."""

    email = models.EmailField(max_length=254, unique=True)
    name = models.CharField(max_length=150)
    is_active = models.BooleanField(default=True)
    joined_at = models.DateTimeField(default=timezone.now, editable=False)

    objects: ClassVar[MemberManager] = MemberManager()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    class Meta:
        constraints = [
            models.UniqueConstraint(
                Lower("email"),
                name="one_member_an_address",
                violation_error_message="Somebody already signs in with this address.",
            )
        ]

    def __str__(self) -> str:
        return self.name


class SchoolRole(models.Model):
    """What a member is to a whole school."""

    school = models.ForeignKey(School, on_delete=models.CASCADE, related_name="roles")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="school_roles")
    role = models.CharField(max_length=20, choices=[(role, role) for role in SCHOOL_ROLES])

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["school", "member", "role"], name="one_school_role"),
            models.CheckConstraint(condition=Q(role__in=SCHOOL_ROLES), name="school_role_known"),
        ]

    def __str__(self) -> str:
        return f"{self.member}, {self.role} of {self.school}"


class Team(models.Model):
    """The teachers of a grade, or a band of grades, in one school year."""

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="teams")
    key = KeyField()
    name = models.CharField(max_length=120)
    grades = Grades()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["year", "key"], name="one_team_a_key")]

    def __str__(self) -> str:
        return self.name


class TeamRole(models.Model):
    """What a member is to a team."""

    team = models.ForeignKey(Team, on_delete=models.CASCADE, related_name="roles")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="team_roles")
    role = models.CharField(max_length=20, choices=[(role, role) for role in TEAM_ROLES])

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["team", "member"], name="one_role_in_a_team"),
            models.CheckConstraint(condition=Q(role__in=TEAM_ROLES), name="team_role_known"),
        ]

    def __str__(self) -> str:
        return f"{self.member}, {self.role} of {self.team}"


class Classroom(models.Model):
    """One class with its teachers, room, enrolment and cap: a head count, never a name."""

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="classrooms")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="classrooms")
    key = KeyField()
    name = models.CharField(max_length=120, blank=True)
    grades = Grades()
    room = models.CharField(max_length=80, blank=True)
    enrolment = models.PositiveSmallIntegerField(null=True, blank=True)
    cap = models.PositiveSmallIntegerField(null=True, blank=True)
    teachers = models.ManyToManyField(Member, blank=True, related_name="classrooms")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["year", "key"], name="one_classroom_a_key"),
            models.CheckConstraint(
                condition=~Q(grades=[]), name="classroom_has_a_grade", violation_error_message="Name the class's grade."
            ),
        ]

    def __str__(self) -> str:
        return self.name or self.key
