"""Minutes rules as a school keeps them; what one demands is its body, as a school file writes it."""

from django.db import models
from django.db.models import F, Q

from teamroom.common.fields import KeyField
from teamroom.common.trail import kept_in_trail
from teamroom.dates.models import Grades, SchoolYear

STANDINGS = ("law", "district", "school", "advice")


@kept_in_trail()
class Rule(models.Model):
    """A minutes requirement with its source."""

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="rules")
    key = KeyField()
    name = models.CharField(max_length=200)
    grades = Grades()
    standing = models.CharField(max_length=10, choices=[(word, word) for word in STANDINGS], default="school")
    citation_title = models.CharField(max_length=500, blank=True)
    citation_url = models.CharField(max_length=500, blank=True)
    citation_checked = models.DateField(null=True, blank=True)
    effective_from = models.DateField(null=True, blank=True)
    effective_to = models.DateField(null=True, blank=True)
    not_checkable = models.TextField(blank=True)
    note = models.TextField(blank=True)
    body = models.JSONField(default=dict, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["year", "key"], name="one_rule_a_key"),
            models.CheckConstraint(condition=Q(standing__in=STANDINGS), name="rule_standing_known"),
            models.CheckConstraint(
                condition=Q(effective_from__isnull=True)
                | Q(effective_to__isnull=True)
                | Q(effective_from__lte=F("effective_to")),
                name="rule_dates_run_forward",
                violation_error_message="The rule's last date comes before its first.",
            ),
            models.CheckConstraint(
                condition=(Q(not_checkable="") & ~Q(body={})) | (~Q(not_checkable="") & Q(body={})),
                name="rule_demands_or_says_why_not",
                violation_error_message="A rule demands something, or says why a week cannot prove it.",
            ),
        ]

    def __str__(self) -> str:
        return self.name
