"""Readings as stored: derived, never edited, rebuilt at will."""

from django.db import models

from scheduling.models.rules import Rule
from teamroom.common.fields import FigureField
from teamroom.members.models import Classroom

FIGURES = ("status", "first", "last", "required", "planned", "margin", "short_windows", "windows")
"""What of a reading is to be seen; the fingerprint only tells what it rests on."""


class Reading(models.Model):
    """A classroom's worst window for a part of a rule, or (part empty) the rule's verdict.

    `fingerprint` tells the inputs the figures were worked out from.
    """

    classroom = models.ForeignKey(Classroom, on_delete=models.CASCADE, related_name="readings")
    rule = models.ForeignKey(Rule, on_delete=models.CASCADE, related_name="readings")
    grade = models.CharField(max_length=20)
    part = models.PositiveSmallIntegerField(null=True)
    status = models.CharField(max_length=16)
    first = models.DateField(null=True)
    last = models.DateField(null=True)
    required = FigureField(null=True)
    planned = FigureField(null=True)
    margin = FigureField(null=True)
    short_windows = models.PositiveSmallIntegerField(null=True)
    windows = models.PositiveSmallIntegerField(null=True)
    fingerprint = models.CharField(max_length=32)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["classroom", "rule", "grade", "part"],
                name="one_reading_a_part",
                nulls_distinct=False,
            )
        ]

    def __str__(self) -> str:
        return f"{self.classroom} {self.rule}: {self.status}"

    def shows_as(self, other: "Reading") -> bool:
        """Whether nobody who looks could tell the two apart."""
        return all(getattr(self, name) == getattr(other, name) for name in FIGURES)
