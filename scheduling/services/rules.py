"""A school's own keeping of its minutes rules."""

from collections.abc import Iterable

from django.db import transaction

from scheduling.models import Rule
from scheduling.services.compliance import ReadingChanges, recompute
from teamroom.dates.models import SchoolYear
from teamroom.dates.services import begin_year_change


@transaction.atomic
def set_rules(year: SchoolYear, rules: Iterable[Rule]) -> ReadingChanges:
    """Write rules, new or changed, and bring only their readings up to date."""
    year = begin_year_change(year.pk)
    written = []
    for rule in rules:
        rule.year = year
        rule.full_clean()
        rule.save()
        written.append(rule.pk)
    return recompute(year, rules=written)


@transaction.atomic
def retire_rule(rule: Rule) -> None:
    """Take a rule, and with it its readings, away."""
    begin_year_change(rule.year_id)
    rule.delete()
