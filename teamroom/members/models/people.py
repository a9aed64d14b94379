"""People: who signs in, and what they are to the district and to a school."""

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.utils import timezone

from teamroom.common.trail import kept_in_trail
from teamroom.dates.models import School
from teamroom.members.roles import SCHOOL_ROLES


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


@kept_in_trail()
class DistrictRole(models.Model):
    """Somebody who founds the schools of this installation and may see all of them."""

    member = models.OneToOneField(Member, on_delete=models.CASCADE, related_name="district_role")

    def __str__(self) -> str:
        return f"{self.member}, district administrator"


@kept_in_trail()
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
