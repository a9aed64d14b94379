"""Specialists: who teaches an activity, such as art or PE, to which classes."""

from django.db import models

from scheduling.models.school_times import Activity
from teamroom.common.trail import kept_in_trail
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, Member, Team


@kept_in_trail()
class SpecialistPost(models.Model):
    """A member who teaches one activity to teams and classrooms, or without either to the school."""

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="specialist_posts")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="specialist_posts")
    activity = models.ForeignKey(Activity, on_delete=models.PROTECT, related_name="+")
    teams = models.ManyToManyField(Team, blank=True, related_name="+")
    classrooms = models.ManyToManyField(Classroom, blank=True, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["member", "activity"], name="one_post_an_activity")]

    def __str__(self) -> str:
        return f"{self.member}, {self.activity}"
