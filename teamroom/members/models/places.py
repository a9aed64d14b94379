"""Places: the teams of a year, their classrooms, and who is what to them."""

from django.db import models
from django.db.models import F, Q

from teamroom.common.fields import KeyField
from teamroom.common.ranges import DateSpan, no_overlap
from teamroom.common.trail import kept_in_trail
from teamroom.dates.models import Grades, SchoolYear
from teamroom.members.models.people import Member
from teamroom.members.roles import TEAM_ROLES


@kept_in_trail()
class Team(models.Model):
    """The teachers of a grade, or a band of grades, in one school year.

    Where a team edits together, its teachers change each other's weeks. A retired team stays
    readable and takes nobody in.
    """

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="teams")
    key = KeyField()
    name = models.CharField(max_length=120)
    grades = Grades()
    edits_together = models.BooleanField(default=False)
    retired = models.BooleanField(default=False)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["year", "key"], name="one_team_a_key")]

    def __str__(self) -> str:
        return self.name


@kept_in_trail()
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


@kept_in_trail()
class Classroom(models.Model):
    """One class with its teachers, room, enrolment and cap: a head count, never a name.

    A retired classroom keeps its weeks and readings, and appears in no list of the year.
    """

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="classrooms")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="classrooms")
    key = KeyField()
    name = models.CharField(max_length=120, blank=True)
    grades = Grades()
    room = models.CharField(max_length=80, blank=True)
    enrolment = models.PositiveSmallIntegerField(null=True, blank=True)
    cap = models.PositiveSmallIntegerField(null=True, blank=True)
    retired = models.BooleanField(default=False)
    teachers = models.ManyToManyField(Member, blank=True, through="ClassTeacher", related_name="classrooms")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["year", "key"], name="one_classroom_a_key"),
            models.CheckConstraint(
                condition=~Q(grades=[]), name="classroom_has_a_grade", violation_error_message="Name the class's grade."
            ),
        ]

    def __str__(self) -> str:
        return self.name or self.key


@kept_in_trail()
class ClassTeacher(models.Model):
    """A member whose own a classroom is: all year, or from a date, or until one (both included).

    A teacher who leaves in mid-year has a last day; who takes the class over has a first day.
    """

    classroom = models.ForeignKey(Classroom, on_delete=models.CASCADE, related_name="class_teachers")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="class_teaching")
    first_day = models.DateField(null=True, blank=True)
    last_day = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(first_day__isnull=True) | Q(last_day__isnull=True) | Q(first_day__lte=F("last_day")),
                name="class_teaching_runs_forward",
                violation_error_message="The last day comes before the first.",
            ),
            no_overlap(
                "classroom",
                "member",
                span=DateSpan("first_day", "last_day"),
                name="class_taught_once_at_a_time",
                message="They teach this class on some of these dates already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.member}, {self.classroom}"
